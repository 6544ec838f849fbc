import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from legible import crossed_texts, outside, overlapping_texts
from PIL import ImageFont

from grading.drawing.fonts import em, font_file, missing_glyphs, text_width, wrapped
from grading.drawing.marks import Align, Arrow, Box, Curve, Dot, Drawing, Role, Text, line, paragraph, rectangle

figures = st.floats(-500, 500).map(lambda figure: round(figure, 3))
points = st.tuples(figures, figures)
curves = st.lists(st.tuples(points, points, points, points), min_size=1, max_size=4).map(
    lambda segments: Curve(np.array(segments, dtype=float), Role.SEW_LINE)
)
texts = st.builds(
    Text,
    text=st.text("Mitten 8½", min_size=1, max_size=12),
    x=figures,
    y=figures,
    align=st.sampled_from(Align),
    angle=st.floats(-4, 4),
)


@given(curves)
def test_a_curves_box_is_that_of_its_points_taken_densely(curve: Curve) -> None:
    u = np.linspace(0, 1, 2001)[:, None, None]
    p0, p1, p2, p3 = np.moveaxis(curve.points, 1, 0)
    dense = (1 - u) ** 3 * p0 + 3 * (1 - u) ** 2 * u * p1 + 3 * (1 - u) * u**2 * p2 + u**3 * p3
    reached = [*dense.min(axis=(0, 1)), *dense.max(axis=(0, 1))]
    assert curve.box == pytest.approx(reached, abs=0.01)
    assert curve.box.grown(1e-9).contains(Box(*reached))


def test_width_of_a_text_is_what_another_font_engine_finds() -> None:
    for bold in (False, True):
        engine = ImageFont.truetype(str(font_file(bold)), 1000, layout_engine=ImageFont.Layout.BASIC)
        for text in ("Größe 8½", "Щука", "palm width"):
            # That engine rounds each advance to a whole pixel, here a thousandth of an em.
            assert text_width(text, 3, bold) == pytest.approx(engine.getlength(text) * em(3) / 1000, rel=2e-3)


def test_capitals_are_as_high_as_asked_for() -> None:
    _, top, _, _ = ImageFont.truetype(str(font_file()), 1000).getbbox("H", anchor="ls")
    assert -top / 1000 * em(2.5) == pytest.approx(2.5, rel=2e-3)


def test_the_font_prints_the_alphabets_of_europe_and_names_what_it_lacks() -> None:
    assert missing_glyphs("ÀÖØöøÿ ĀłŒž Ș ẞ Ωάώ ЖщЇђ Ֆև აჰ €£ ½⅞ →↕ ≤±× ■○ „…“ – ’") == ""
    assert missing_glyphs("size 手 🧤 手") == "手🧤"


@given(st.text("palm width ", max_size=60), st.floats(4, 60))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: float) -> None:
    lines = wrapped(text, width, 2)
    assert all(text_width(part, 2) <= width or len(part) == 1 for part in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(texts)
def test_mirrored_text_fills_the_mirrored_rectangle(text: Text) -> None:
    image = shapely.transform(shapely.Polygon(text.corners), lambda xy: xy * (-1, 1))
    assert shapely.Polygon(text.mirrored().corners).symmetric_difference(image).area < 1e-6


def test_turned_text_rises_from_its_place() -> None:
    upright = Text("Thumb", 10, 20, height=3, angle=np.pi / 2).box
    assert upright.bottom == pytest.approx(20)
    assert upright.height == pytest.approx(text_width("Thumb", 3))
    assert upright.left < 10 - 3 < 10 < upright.right


def test_moving_and_mirroring_a_drawing_moves_and_mirrors_its_box() -> None:
    drawing = Drawing(
        (
            line([(0, 0), (5, 40)], Role.CUT_LINE),
            Arrow((3, 3), (30, 3), Role.STRETCH, both=True),
            Dot(12, -4),
            Text("Trank", 8, 9),
            Curve(np.array([[(0, 0), (10, 20), (20, 20), (35, 0)]], dtype=float), Role.SEW_LINE),
        )
    )
    left, bottom, right, top = drawing.box
    assert drawing.moved(7, -2).box == pytest.approx((left + 7, bottom - 2, right + 7, top - 2))
    assert drawing.mirrored().box == pytest.approx((-right, bottom, -left, top))


def test_paragraph_hangs_from_its_top_and_its_lines_do_not_overlap() -> None:
    block = paragraph(["Blades and needles can hurt.", "No protective equipment."], 10, 100, 25, Text("", 0, 0, 2))
    assert len(block.marks) > 2
    assert block.box.top == pytest.approx(100)
    assert block.box.right <= 35
    assert overlapping_texts(block) == []


def test_texts_over_texts_and_lines_through_texts_are_found() -> None:
    first, second, far = Text("Trank", 0, 0), Text("Thumb", 5, 1), Text("Hole", 60, 0)
    stroke = line([(62, -10), (62, 10)], Role.CUT_LINE)
    drawing = Drawing((first, second, far, stroke, rectangle(Box(-5, -5, 90, 8), Role.SHADE)))
    assert overlapping_texts(drawing) == [(first, second)]
    assert crossed_texts(drawing) == [(far, stroke)]


def test_a_label_on_a_line_hides_the_line_below_it_only() -> None:
    stroke, label = line([(0, -10), (0, 10)], Role.SEW_LINE), Text("8", -1, 0, role=Role.LABEL_ON_LINE)
    assert crossed_texts(Drawing((stroke, label))) == []
    assert crossed_texts(Drawing((label, stroke))) == [(label, stroke)]


def test_marks_outside_a_frame_are_found() -> None:
    inside, across = Dot(5, 5), Text("sticks out", 5, 5)
    assert outside(Drawing((inside, across)), Box(0, 0, 10, 10)) == [across]


@pytest.mark.parametrize("turns", range(1, 9))
def test_a_text_is_read_from_the_bottom_or_the_right_however_a_drawing_is_turned_and_mirrored(turns: int) -> None:
    # ISO 129-1: from the bottom or the right edge of the sheet (from memory).
    drawing = Drawing((Text("pile arrow", 5, 1, angle=np.pi / 2), Text("size", 0, 0, align=Align.RIGHT)))
    for _ in range(turns):
        drawing = drawing.turned() if turns % 3 else drawing.turned().mirrored()
    for text in drawing.marks:
        assert np.cos(text.angle) > -1e-9
        assert np.cos(text.angle) > 1e-9 or np.sin(text.angle) > 0


def test_a_text_that_is_turned_about_to_be_read_fills_the_same_place() -> None:
    text = Text("hand goes in this way", 5, 1, angle=np.pi / 2, align=Align.CENTRE)
    upside_down = text.box.turned()
    assert text.turned().box == pytest.approx(upside_down)


def test_a_quarter_turn_to_the_left_turns_every_mark() -> None:
    corner = line([(0, 0), (3, 0), (3, 1)], Role.CUT_LINE)
    arrow, dot, word = Arrow((0, 0), (0, 8), Role.PILE), Dot(2, 1), Text("word", 5, 1)
    curve = Curve(np.array([[(0, 0), (1, 0), (2, 1), (3, 3)]], dtype=float), Role.SEW_LINE)
    drawing = Drawing((corner, arrow, dot, word, curve))
    turned = drawing.turned()
    assert turned.marks[0].points.tolist() == [[0, 0], [0, 3], [-1, 3]]
    assert turned.marks[1].end == (-8, 0)
    for before, after in zip(drawing.marks, turned.marks, strict=True):
        box = before.box
        assert after.box == pytest.approx((-box.top, box.left, -box.bottom, box.right))
