"""One customer's pair beside the nearest stock size, as it is printed: its figures add up on paper."""

from __future__ import annotations

import re
from io import BytesIO

import pypdf
import pytest

from grading.drafting.one_hand import one_pair
from grading.drawing.paper import PAPERS, Printing
from grading.engine.graded import GradedGroup
from grading.model.measured import Hands
from grading.outputs.one_hand import nearest_sheet


@pytest.fixture(scope="module")
def printed(runs):
    stock = GradedGroup(runs["Women"], "1f3a", (), (), ())
    pair, _ = one_pair(Hands({"fist girth": 200}, {"fist girth": 209, "palm length": 104}), stock, "Order 12")

    def text(unit: str) -> str:
        pages = pypdf.PdfReader(BytesIO(nearest_sheet(pair, "Order 12", stock, Printing(PAPERS["a4"]), unit))).pages
        return "\n".join(page.extract_text() for page in pages)

    return text


def test_inches_stand_as_they_are_read_off_a_tape_each_with_its_decimal(printed):
    # 1 in = 25.4 mm (NIST SP 811): fists of 200 and 209 mm
    text = printed("in")
    assert "7 7/8 (7.87)" in text
    assert "8 1/4 (8.23)" in text
    assert re.search(r"-3/8 \(-0\.36\)", text), "what is apart is the difference of what is printed, either way"


def test_millimetres_stand_alone(printed):
    text = printed("mm")
    assert {"200", "209", "-9"} <= set(text.split())
    assert not re.search(r"\(\d", text)
