"""Each code of a finding means one thing, said in one place, is given somewhere, and some test meets it."""

from __future__ import annotations

import re
from pathlib import Path

import grading
from grading.codes import Code

PACKAGE, TESTS = Path(grading.__file__).parent, Path(__file__).parent


def texts(folder: Path) -> str:
    """Whatever is written in the modules of a folder, but for the list of codes and its test."""
    paths = (path for path in folder.rglob("*.py") if path.name not in ("codes.py", "test_codes.py"))
    return "\n".join(path.read_text(encoding="utf-8") for path in paths)


def test_a_code_is_named_as_it_is_spelled():
    assert [code.name for code in Code] == [code.upper().replace("-", "_") for code in Code]


def test_every_code_is_given():
    # What a block's names may not mean is put together: 'unknown-' and what was looked for.
    named = {code for code in Code if not code.startswith("unknown-")}
    assert {code.name for code in named} - set(re.findall(r"Code\.([A-Z_]+)", texts(PACKAGE))) == set()


def test_no_two_codes_mean_the_same():
    meanings = [code.meaning for code in Code]
    assert len(set(meanings)) == len(meanings)
    assert all(meaning.endswith(".") for meaning in meanings)


def test_every_code_is_met_by_some_test():
    assert set(Code) - set(re.findall("[a-z]+(?:-[a-z]+)+", texts(TESTS))) == set()
