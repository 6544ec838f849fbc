"""What 'make bench' times still runs: it is run too seldom to be noticed otherwise."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

BENCHES = Path(__file__).parent / "bench"
GROWTH = "import json, pathlib, whole_run; print(json.dumps(whole_run.growth(pathlib.Path('{}'), (3, 9), times=1)))"
FLOOR = "import json, pathlib, whole_run; print(json.dumps(whole_run.against_floor(pathlib.Path('{}'), times=1)))"


def told(*words: str) -> dict:
    done = subprocess.run([sys.executable, *words], cwd=BENCHES, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


@pytest.mark.long
def test_the_engine_is_timed_beside_bare_numpy():
    assert told("engine.py")["ratio"] > 1


@pytest.mark.long
def test_a_run_is_timed_beside_a_floor_that_writes_as_many_files(tmp_path):
    figures = told("-c", FLOOR.format(tmp_path))
    assert figures["counted"]["files"] == figures["written_by_floor"]["files"]
    assert figures["unchanged_s"] < figures["floor_s"] < figures["run_s"]


@pytest.mark.long
def test_more_sizes_take_a_run_longer(tmp_path):
    few, many = told("-c", GROWTH.format(tmp_path))["seconds"]
    assert few < many
