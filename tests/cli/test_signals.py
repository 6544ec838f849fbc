"""Signals at any moment to every command that writes: each file is whole, and the same command again puts all right."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest
from attacks import GROUP, OUT, Workshop

from grading.findings import has_errors
from grading.publish import verify

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the signals are POSIX")

SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP", "SIGKILL")
NEST = ("run", *GROUP, "--only", "nest", "--only", "spec", "--quiet", *OUT)
#: What each command is typed with, and what was typed before it, so that there is something to lose.
COMMANDS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "run": (NEST, (*NEST, "--units", "cm")),
    "hand": (
        ("hand", *GROUP, "--measured", "hands.csv", "--name", "Order", *OUT),
        ("hand", *GROUP, "--right", "fist girth", "205 mm", "--name", "Order", *OUT),
    ),
    "stock": (
        ("stock", *GROUP, "--pairs", "4", "--at-least", "0", *OUT),
        ("stock", *GROUP, "--pairs", "3", "--at-least", "0", *OUT),
    ),
    "returns": (("returns", "back.xlsx", *GROUP, *OUT), ("returns", "back.csv", *GROUP, *OUT)),
    "draft": (("draft", "--measured", "hands.csv", "--out", "out/own.xlsx"), ()),
    "start": (("start", "out"), ()),
}


@pytest.fixture(scope="module")
def workshop(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("workshop")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        Workshop(folder)
    (folder / "out").mkdir()
    return folder


def typed(folder: Path, words: tuple[str, ...]) -> subprocess.Popen[bytes]:
    line = [sys.executable, "-m", "grading", *words]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    return subprocess.Popen(line, cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)


def ended(folder: Path, words: tuple[str, ...]) -> tuple[int, str]:
    process = typed(folder, words)
    told = process.communicate(timeout=120)[0].decode()
    return process.returncode, told


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def visible(folder: Path) -> dict[str, bytes]:
    """The files that are there to be used: not what a publish keeps hidden until all is written."""
    return {
        name: data for name, data in contents(folder).items() if not any(p.startswith(".") for p in name.split("/"))
    }


def try_signals(workshop: Path, command: str, numbers: range) -> None:
    """Send a signal at the moment that each number determines; a failure names the number."""
    words, earlier = COMMANDS[command]
    out = workshop / "out"
    shutil.rmtree(out)
    if earlier:
        assert ended(workshop, earlier)[0] == 0
    before = contents(out) if earlier else {}
    begun = time.perf_counter()
    assert ended(workshop, words)[0] == 0
    lasting, after = time.perf_counter() - begun, contents(out)
    inputs = {name: data for name, data in contents(workshop).items() if not name.startswith("out/")}
    for number in numbers:
        chance = random.Random(f"{command} {number}")
        sent = signal.Signals[chance.choice(SIGNALS)]
        shutil.rmtree(out)
        for name, data in before.items():
            (out / name).parent.mkdir(parents=True, exist_ok=True)
            (out / name).write_bytes(data)
        process = typed(workshop, words)
        time.sleep(chance.random() * lasting)
        process.send_signal(sent)
        told = process.communicate(timeout=120)[0].decode()
        # While Python itself starts, and imports the program, nobody of ours is there yet to hear.
        assert "Traceback" not in told or "main()" not in told, (number, told)
        if command == "stock" and sent is signal.SIGINT:  # Ctrl+C ends the search, and the best plan so far is written
            assert not has_errors(verify(out / "stock")), number
        else:
            for name, data in visible(out).items():
                assert data in (before.get(name), after.get(name)), (number, sent.name, name)
        status, told = ended(workshop, words)
        if earlier or status == 0:
            assert status == 0, (number, sent.name, told)
            assert contents(out) == after, (number, sent.name)
        else:  # what is new is never written over what is there
            assert "error" in told, (number, sent.name)
            assert contents(out).keys() <= after.keys(), (number, sent.name)
        others = {name: data for name, data in contents(workshop).items() if not name.startswith("out/")}
        assert others == inputs, (number, sent.name)


@pytest.mark.parametrize("command", ["draft", pytest.param("run", marks=pytest.mark.long)])
def test_a_signal_at_any_moment_leaves_every_file_whole(workshop, command):
    try_signals(workshop, command, range(1))


@pytest.mark.long
@pytest.mark.parametrize("command", COMMANDS)
def test_a_hundred_signals_at_any_moment_leave_every_file_whole(workshop, command):
    try_signals(workshop, command, range(1, 18))
