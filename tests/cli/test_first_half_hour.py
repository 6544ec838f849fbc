"""The README's first half hour, its commands run as they are written."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

README = Path(__file__).parents[2] / "README.md"
HEADING = "Your first half hour"


def commands() -> list[str]:
    """Every line of every fenced block of the section, in order."""
    section = re.split(r"^## ", README.read_text(encoding="utf-8").split(f"## {HEADING}\n", 1)[1], flags=re.MULTILINE)[
        0
    ]
    blocks = re.findall(r"^```\w*\n(.*?)^```", section, flags=re.DOTALL | re.MULTILINE)
    return [line for block in blocks for line in block.splitlines() if line.strip()]


def test_the_first_half_hour_goes_well(tmp_path):
    (tmp_path / "bin").mkdir()
    program = tmp_path / "bin" / "grading"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m grading "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    lines = commands()
    assert len(lines) >= 6
    environment = {
        **os.environ,
        "PATH": f"{program.parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(README.parent),
    }
    done = subprocess.run(
        ["sh", "-e", "-c", "\n".join(lines)], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert not done.stderr  # nothing to complain of in what a beginner is given
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
