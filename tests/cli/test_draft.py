"""'grading draft', 'grading hand' and 'grading start' as a maker types them, rightly and wrongly."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.inputs.block import read_block
from grading.inputs.opening import open_tables
from grading.outputs.starter import starter_files


@pytest.fixture(scope="module")
def starter(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("starter")
    for name, content in starter_files().items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def typed(*words: object):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_drafted_block_is_written_with_its_construction_and_its_working_printed(starter, tmp_path):
    out = tmp_path / "own.xlsx"
    done = typed("draft", "--measured", starter / "hands.xlsx", "--units", "cm", "--out", out, "--name", "Own")
    assert done.exit_code == 0, done.stderr
    assert "For the right hand, figures in cm." in done.stdout
    assert "11.4  =  round the mitten 22.8 ÷ 2" in done.stdout
    block, findings = read_block(open_tables(out)[0])
    assert not findings
    assert block.name == "Own"
    assert out.with_suffix(".pdf").read_bytes().startswith(b"%PDF")


def test_what_is_there_is_never_written_over(starter, tmp_path):
    out = tmp_path / "own.xlsx"
    out.with_suffix(".pdf").write_text("mine")
    done = typed("draft", "--measured", starter / "hands.xlsx", "--out", out)
    assert (done.exit_code, out.exists(), out.with_suffix(".pdf").read_text()) == (1, False, "mine")
    assert "file-exists" in done.stderr


def test_words_typed_count_before_the_sheet(starter, tmp_path):
    out = tmp_path / "own.xlsx"
    words = ("--right", "fist girth", "22,3 cm", "--allowance", "Hand Ease", '3/4"')
    done = typed("draft", "--measured", starter / "hands.xlsx", *words, "--out", out)
    assert done.exit_code == 0, done.stderr
    values = {value.name: value.drafted for value in read_block(open_tables(out)[0])[0].values}
    assert (values["fist girth"], values["hand ease"]) == pytest.approx((223, 19.05))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["draft"], "measurement-missing"),
        (["draft", "--right", "fist girth", "8.8", "--units", "cm"], "inches typed as centimetres"),
        (["draft", "--right", "fist girth", "about 20"], "not-a-number"),
        (["draft", "--right", "fistgirht", "20"], "Perhaps 'fist girth'"),
        (["draft", "--allowance", "hand eas", "20"], "Perhaps 'hand ease'"),
        (["draft", "--measured", "nowhere.xlsx"], "file-missing"),
        (["draft", "--from-points", "nowhere.csv"], "file-missing"),
        (["hand", "--group", "Women", "--sizes", "nowhere.xlsx"], "file-missing"),
    ],
)
def test_what_was_typed_wrongly_is_said_and_nothing_is_written(words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = typed(*words)
    assert done.exit_code == 1
    assert said in " ".join(done.stderr.split())
    assert "Nothing was written." in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_pair_for_a_customer_needs_one_group(starter, monkeypatch):
    monkeypatch.chdir(starter)
    done = typed("hand", "--measured", "hands.xlsx")
    assert done.exit_code == 1
    assert "which-group" in done.stderr


def test_a_pair_tells_its_estimates_and_its_nearest_size(starter, tmp_path, monkeypatch):
    monkeypatch.chdir(starter)
    done = typed("hand", "--group", "Women", "--right", "fist girth", "213", "--name", "Order 9", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert "Order 9: nearest stock size W4 of Women" in done.stdout
    assert "estimated, ± " in done.stdout
    assert (tmp_path / "Order 9" / "nearest-size.pdf").exists()
    assert not (tmp_path / "Order 9" / "nest.pdf").exists()


def test_a_starter_folder_is_made_once(tmp_path):
    done = typed("start", tmp_path / "new" / "mittens")
    assert done.exit_code == 0, done.stderr
    kept = {path: path.read_bytes() for path in (tmp_path / "new").rglob("*") if path.is_file()}
    assert {path.relative_to(tmp_path / "new" / "mittens").as_posix() for path in kept} == set(starter_files())
    again = typed("start", tmp_path / "new" / "mittens")
    assert again.exit_code == 1
    assert "folder-not-empty" in again.stderr
    assert {path: path.read_bytes() for path in kept} == kept
