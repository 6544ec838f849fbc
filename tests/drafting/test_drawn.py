"""Patterns drawn in a drawing program: what goes out comes back alike, and what is off, or hostile, is told."""

from __future__ import annotations

import os
import random
import time
import xml.etree.ElementTree as ET
from functools import cache

import pytest
import shapely

from grading.drafting.drawn import read_drawing, strayed
from grading.drafting.scenario import BASES, demo_block, demo_sizes
from grading.drafting.trace import trace
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import has_errors
from grading.model.measured import Hands
from grading.outputs.cutting.dxf import pattern_data
from grading.outputs.cutting.layers import cutting_files
from grading.outputs.cutting.svg import svg_file
from grading.readings.cut_lines import cut_lines

TABLES = {table.group: table for table in demo_sizes()}


@cache
def base_file(group: str, hand: str):
    run = balanced(grade(demo_block(group), TABLES[group]))
    files = cutting_files(run, cut_lines(run), "0")
    return run, next(file for file in files if (file.size, file.hand) == (BASES[group], hand))


def written(file, ending: str) -> bytes:
    return svg_file(file) if ending == ".svg" else pattern_data(file, "Fair mitten", "", file.size)


def hand_of(group: str) -> Hands:
    table = TABLES[group]
    figures = dict(zip(table.measurements, table.values[:, table.sizes.index(BASES[group])].tolist(), strict=True))
    return Hands(figures, figures)


@pytest.fixture
def drawing(tmp_path):
    """The women's base as a drawing: its path, and its text to be changed."""
    _, file = base_file("Women", "left")
    path = tmp_path / "pattern.svg"
    path.write_bytes(svg_file(file))
    return path, svg_file(file).decode()


def codes(path) -> set[str]:
    return {finding.code for finding in read_drawing(path)[2]}


@pytest.mark.parametrize("ending", [".svg", ".dxf"])
@pytest.mark.parametrize(("group", "hand"), [("Women", "left"), ("Men", "right"), ("Children", "left")])
def test_a_block_drawn_and_drafted_back_grades_to_the_same_cut_lines_in_every_size(tmp_path, group, hand, ending):
    run, file = base_file(group, hand)
    path = tmp_path / f"pattern{ending}"
    path.write_bytes(written(file, ending))
    drawn, points, findings = read_drawing(path)
    assert not findings
    block = run.block
    layer = {"compressed pile": block.compressed_pile, "leather thickness": block.leather}
    drafted, found = trace(points, hand_of(group), name="Mine", groups=(group,), layer=layer)
    assert not has_errors(found)
    assert not list(strayed(drafted, drawn, path))
    back = balanced(grade(drafted.block, TABLES[group]))
    for own, other in zip(cut_lines(run), cut_lines(back), strict=True):
        for one, two in zip(own.lines, other.lines, strict=True):
            rings = (shapely.LinearRing(line.polygon) for line in (one, two))
            assert shapely.hausdorff_distance(*rings) < 0.05


def test_a_drawing_in_inches_or_pixels_is_read_in_millimetres(drawing):
    path, text = drawing
    wide = float(text.split('width="')[1].split("mm")[0])
    points = read_drawing(path)[1]
    for side in (f"{wide / 25.4:.9f}in", f"{wide / 10:.9f}cm", f"{wide / 25.4 * 96:.9f}", f"{wide / 25.4 * 72:.9f}pt"):
        path.write_text(text.replace(f'width="{wide:g}mm"', f'width="{side}"', 1))
        assert [(p.name, round(p.x, 3), round(p.y, 3)) for p in read_drawing(path)[1]] == [
            (p.name, round(p.x, 3), round(p.y, 3)) for p in points
        ]


def test_a_scale_that_is_off_is_told_by_the_bar(drawing):
    path, text = drawing
    wide = text.split('width="')[1].split("mm")[0]
    path.write_text(text.replace(f'width="{wide}mm"', f'width="{float(wide) * 0.986:.4f}mm"', 1))
    _, _, findings = read_drawing(path)
    (off,) = [finding for finding in findings if finding.code == "drawing-off-scale"]
    assert "98.60 mm" in off.found
    assert "101.42 %" in off.action


def test_a_drawing_without_a_bar_is_noted(drawing):
    path, text = drawing
    path.write_text(text.replace('id="bar-of-100-mm"', 'id="line"'))
    assert codes(path) == {"drawing-without-bar"}


def test_a_node_without_a_name_is_told_with_its_place(drawing):
    path, text = drawing
    path.write_text(text.replace(">waist<", "><"))
    _, _, findings = read_drawing(path)
    (finding,) = [finding for finding in findings if finding.code == "node-without-name"]
    assert finding.place.piece == "Trank"
    waist = next(point for point in demo_block().points if (point.piece, point.name) == ("Trank", "waist"))
    assert f"x {waist.x:.1f}, y {waist.y:.1f}" in finding.found


@pytest.mark.parametrize("piece", ["Trank", "Thumb"])
def test_a_file_of_a_pieces_name_needs_no_group_of_that_name(drawing, piece):
    path, text = drawing
    alone = path.with_name(f"{piece.lower()}.svg")
    root = ET.fromstring(text)
    for group in root.findall("{*}g"):
        if group.get("id") not in (piece, "bar-of-100-mm"):
            root.remove(group)
        elif group.get("id") == piece:
            group.set("id", "outline")
            group.find("{*}title").text = ""
    alone.write_bytes(ET.tostring(root))
    wanted = [point for point in read_drawing(path)[1] if point.piece == piece]
    found = read_drawing(alone)[1]
    assert [(point.piece, point.name) for point in found] == [(point.piece, point.name) for point in wanted]


def test_pieces_that_are_not_named_are_told(drawing):
    path, text = drawing
    path.write_text(text.replace("Trank", "Body").replace("Thumb", "Small"))
    assert "drawing-without-pieces" in codes(path)


def test_a_curve_that_smooth_points_cannot_hold_is_told_with_the_place(tmp_path):
    _, file = base_file("Women", "left")
    trank = next(piece for piece in file.pieces if piece.piece.name == "Trank")
    sewn = trank.curves["sew line"][0]
    number = max(range(len(sewn)), key=lambda i: abs(sewn[i, 0, 1] - sewn[i, 3, 1]))
    sewn = sewn.copy()
    sewn[number, 1:3, 0] += 3.0  # handles pulled aside by 3 mm move the middle of a cubic by 3/4 of that
    trank.curves["sew line"][0] = sewn
    path = tmp_path / "pulled.svg"
    path.write_bytes(svg_file(file))
    drawn, points, _ = read_drawing(path)
    drafted, _ = trace(points, hand_of("Women"), name="Mine")
    findings = [finding for finding in strayed(drafted, drawn, path) if finding.place.piece == "Trank"]
    assert [finding.code for finding in findings] == ["curve-not-held"]
    assert " 2." in findings[0].found


HOSTILE = {
    "entities": '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><svg xmlns="http://www.w3.org/2000/svg">&b;</svg>',
    "outside": '<!DOCTYPE svg SYSTEM "http://127.0.0.1/x.dtd"><svg xmlns="http://www.w3.org/2000/svg"/>',
    "script": '<svg xmlns="http://www.w3.org/2000/svg"><script href="http://127.0.0.1/x.js"/><g id="Trank"/></svg>',
    "far": '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" width="9mm"><g id="Trank">'
    '<path d="M0,0 L1e30,0 L0,1e30 Z"/></g></svg>',
    "nested": '<svg xmlns="http://www.w3.org/2000/svg">' + '<g transform="scale(9)">' * 900 + "</g>" * 900 + "</svg>",
    "nodes": '<svg xmlns="http://www.w3.org/2000/svg"><g id="Trank"><path d="M0,0 '
    + "L1,1 2,0 " * 400_000
    + 'Z"/></g></svg>',
    "broken": "<svg><g>",
    "empty": "",
}


@pytest.mark.parametrize("ending", [".svg", ".dxf"])
def test_a_file_that_is_missing_too_large_or_no_drawing_says_which(tmp_path, monkeypatch, ending):
    path = tmp_path / f"pattern{ending}"
    assert codes(path) == {"drawing-not-read"}
    path.mkdir()
    assert codes(path) == {"drawing-not-read"}
    path.rmdir()
    if hasattr(os, "mkfifo"):  # a pipe, which is not waited for
        os.mkfifo(path)
        assert codes(path) == {"drawing-not-read"}
        path.unlink()
    path.write_bytes(b"Dear maker,")
    assert codes(path) == {"unreadable-drawing"}
    monkeypatch.setattr("grading.drafting.drawn.MOST_BYTES", 10)
    assert codes(path) == {"drawing-too-large"}


@pytest.mark.parametrize("attack", HOSTILE)
def test_a_hostile_drawing_is_a_finding_and_quickly(tmp_path, attack):
    path = tmp_path / "hostile.svg"
    path.write_text(HOSTILE[attack])
    begun = time.process_time()
    _, points, findings = read_drawing(path)
    assert time.process_time() - begun < 5
    assert points == ()
    assert has_errors(findings)


def mutated(content: bytes, number: int) -> bytes:
    """The file with some bytes changed, cut out or doubled; the same for a number each time."""
    chance = random.Random(number)
    found = bytearray(content)
    for _ in range(chance.randint(1, 12)):
        at = chance.randrange(len(found))
        match chance.randrange(4):
            case 0:
                found[at] = chance.randrange(256)
            case 1:
                del found[at : at + chance.randint(1, 40)]
            case 2:
                found[at:at] = found[at : at + chance.randint(1, 60)]
            case _:
                found[at:at] = chance.choice([b"1e309", b"-", b"nan", b"<", b"\0", b"999999999", b"\n0\nLINE\n"])
    return bytes(found)


def try_mutations(tmp_path, numbers) -> None:
    _, file = base_file("Women", "left")
    contents = {".svg": svg_file(file), ".dxf": pattern_data(file, "Fair mitten", "", "W3")}
    for number in numbers:
        ending = (".svg", ".dxf")[number % 2]
        path = tmp_path / f"mutated{ending}"
        path.write_bytes(mutated(contents[ending], number))
        drawn, points, findings = read_drawing(path)
        assert points or has_errors(findings) or not drawn.parts, number
        if points and not has_errors(findings):
            drafted, _ = trace(points, hand_of("Women"), name="Mine")
            if drafted is not None:
                list(strayed(drafted, drawn, path))


def test_mutated_drawings_are_findings_only(tmp_path):
    try_mutations(tmp_path, range(80))


@pytest.mark.long
def test_thousands_of_mutated_drawings_are_findings_only(tmp_path):
    try_mutations(tmp_path, range(80, 2300))
