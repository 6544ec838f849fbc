"""Each code of a finding means one thing, said in one place, and some test meets it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import grading
from grading.codes import CODES

PACKAGE, TESTS = Path(grading.__file__).parent, Path(__file__).parent
#: What is called with a code before all else.
TAKES_A_CODE = {"Finding", "UnreadableError", "_RefusedError", "StoppedError", "Impossible", "notice", "_finding"}


def given() -> set[str]:
    """The codes that stand as such in the package's calls."""
    calls = (
        node
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and node.args
    )
    firsts = (call.args[0] for call in calls if ast.unparse(call.func).partition(".")[0] in TAKES_A_CODE)
    return {first.value for first in firsts if isinstance(first, ast.Constant) and isinstance(first.value, str)}


def words(folder: Path) -> set[str]:
    """Whatever is spelled like a code in the files of a folder, but for the list of codes and its test."""
    paths = (path for path in folder.rglob("*.py") if path.name not in ("codes.py", "test_codes.py"))
    return {word for path in paths for word in re.findall(r"[a-z]+(?:-[a-z]+)+", path.read_text(encoding="utf-8"))}


def test_every_code_is_one_of_those_listed():
    assert given() - set(CODES) == set()


def test_every_code_that_is_listed_is_given():
    # What a block's names may not mean is put together: 'unknown-' and what was looked for.
    put_together = {code for code in CODES if code.startswith("unknown-")}
    assert set(CODES) - put_together - words(PACKAGE) == set()


def test_no_two_codes_mean_the_same():
    assert len(set(CODES.values())) == len(CODES)
    assert all(meaning.endswith(".") for meaning in CODES.values())


def test_every_code_is_met_by_some_test():
    assert set(CODES) - words(TESTS) == set()
