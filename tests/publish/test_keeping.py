"""Files put in the place of others: the old one is kept, or nothing happens at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from grading.publish.fresh import may_begin
from grading.publish.keeping import put_in_place


@pytest.fixture
def block(tmp_path) -> Path:
    path = tmp_path / "block.xlsx"
    path.write_bytes(b"old")
    return path


def codes(findings) -> list[str]:
    return [finding.code for finding in findings]


def test_what_is_replaced_is_kept_beside_it_under_a_name_with_its_day(block):
    kept, findings = put_in_place({block: b"new"})
    assert not findings
    assert (block.read_bytes(), kept[block].read_bytes()) == (b"new", b"old")
    assert kept[block].name.startswith("old block 20")
    assert {path.name for path in block.parent.iterdir()} == {block.name, kept[block].name}


@pytest.mark.parametrize("call", ["replace", "open", "read_bytes"])
def test_where_the_disk_refuses_the_old_one_stays(block, monkeypatch, call):
    def refuse(path, *_, **__):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))

    with monkeypatch.context() as patch:
        patch.setattr(Path, call, refuse)
        kept, findings = put_in_place({block: b"new"})
    assert kept == {}
    assert codes(findings) in (["disk-full"], ["cannot-write"])
    assert block.read_bytes() == b"old"
    assert not [path for path in block.parent.iterdir() if path.name.startswith(".")]


def test_a_folder_that_cannot_be_looked_into_is_not_begun(tmp_path, monkeypatch):
    def refuse(path):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))

    monkeypatch.setattr(Path, "iterdir", refuse)
    (finding,) = may_begin(tmp_path, {tmp_path / "sizes.xlsx": b""})
    assert "cannot be looked into (Permission denied)" in finding.found
