"""The one typeface of every output: DejaVu Sans Condensed, carried by the package, and how wide a text is in it."""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

__all__ = [
    "ASCENT",
    "DESCENT",
    "LINE_SPACING",
    "em",
    "font_file",
    "missing_glyphs",
    "registered",
    "text_width",
    "wrapped",
]

_FOLDER = Path(__file__).with_name("fonts")

# Figures of the font files, in em: capital H from the outline, ascent and descent from the table 'hhea'.
_CAPITAL = 0.729
#: How far accents on capitals rise over the baseline and letters fall below it, for capitals 1 mm high.
ASCENT, DESCENT = 0.928 / _CAPITAL, 0.236 / _CAPITAL
#: From baseline to baseline, for capitals 1 mm high: lines that close never touch.
LINE_SPACING = 1.6


def font_file(bold: bool = False) -> Path:
    """The TrueType file, for programs that load it themselves."""
    return _FOLDER / f"DejaVuSansCondensed{'-Bold' if bold else ''}.ttf"


@cache
def registered(bold: bool = False) -> str:
    """The name under which reportlab knows the font; loads it at the first call."""
    file = font_file(bold)
    pdfmetrics.registerFont(TTFont(file.stem, file))
    return file.stem


def em(height: float) -> float:
    """The font size for capitals of this height, in the same unit (lettering is named by its capitals)."""
    return height / _CAPITAL


def text_width(text: str, height: float, bold: bool = False) -> float:
    """The width in mm of one line of text whose capitals are ``height`` mm high.

    >>> round(text_width("Mitten", 2.5), 2) == round(2 * text_width("Mitten", 1.25), 2)
    True
    """
    return _width_of_unit(text, bold) * height


@lru_cache(maxsize=1 << 15)
def _width_of_unit(text: str, bold: bool) -> float:
    """The width for capitals 1 mm high: what is on every size's sheet is measured once."""
    return float(pdfmetrics.stringWidth(text, registered(bold), em(1)))


def missing_glyphs(text: str) -> str:
    """The characters of ``text`` that the font cannot print, each once, in order.

    >>> missing_glyphs("Größe Ł Щ Ω ½ →")
    ''
    >>> missing_glyphs("手袋 a 手")
    '手袋'
    """
    return "".join(character for character in dict.fromkeys(text) if ord(character) not in _glyphs())


@lru_cache(maxsize=1 << 13)  # what is on every size's sheet is wrapped once
def wrapped(text: str, width: float, height: float, bold: bool = False) -> tuple[str, ...]:
    """The text in lines no wider than ``width`` mm; breaks between words, and within a word only if it must.

    >>> wrapped("Thumb hole of the trank", 18, 2)
    ('Thumb hole of', 'the trank')
    """
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", height, bold) <= width:
            lines[-1] += f" {word}"
        else:
            lines += _broken(word, width, height, bold)
    return tuple(lines)


def _broken(word: str, width: float, height: float, bold: bool) -> list[str]:
    """The word in the longest stretches that fit, one character at least."""
    if text_width(word, height, bold) <= width:
        return [word]
    stretches = [word[0]]
    for character in word[1:]:
        if text_width(stretches[-1] + character, height, bold) <= width:
            stretches[-1] += character
        else:
            stretches.append(character)
    return stretches


@cache
def _glyphs() -> frozenset[int]:
    """The characters that both weights have."""
    faces = (pdfmetrics.getFont(registered(bold)).face for bold in (False, True))
    regular, heavy = (frozenset(face.charToGlyph) for face in faces)
    return regular & heavy
