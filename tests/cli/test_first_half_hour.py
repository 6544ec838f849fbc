"""The README's first half hour, its commands run as they are written."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from grading.cli import main

README = Path(__file__).parents[2] / "README.md"
HEADING = "Your first half hour"


def commands() -> list[str]:
    """Every line of every fenced block of the section, in order."""
    section = re.split(r"^## ", README.read_text(encoding="utf-8").split(f"## {HEADING}\n", 1)[1], flags=re.MULTILINE)[
        0
    ]
    blocks = re.findall(r"^```\w*\n(.*?)^```", section, flags=re.DOTALL | re.MULTILINE)
    return [line for block in blocks for line in block.splitlines() if line.strip()]


def test_the_first_half_hour_goes_well(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    lines = commands()
    assert len(lines) >= 6
    for line in lines:
        program, *words = shlex.split(line)
        if program == "cd":
            (folder,) = words
            monkeypatch.chdir(folder)
            continue
        assert program == "grading"
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, (line, done.output)
        assert not done.stderr, line  # nothing to complain of in what a beginner is given
    made = {path.relative_to(tmp_path / "mittens").as_posix() for path in (tmp_path / "mittens").rglob("*")}
    assert {
        "drafted-block.xlsx",
        "drafted-block.pdf",
        "my-pattern.xlsx",
        "output/Women/nest.pdf",
        "own/Women/nest.pdf",
        "output/Order 12/nearest-size.pdf",
        "output/Order 12/spec-cards.pdf",
        "output/Order 12/left/patterns/made to measure.pdf",
        "output/Order 12/right/patterns/made to measure.pdf",
    } <= made
