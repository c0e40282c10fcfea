"""Texts in plots: how wide they are, how they are shortened, how numbers are said.

A plot is written before anybody knows in which font it will be read. Widths here are
therefore upper estimates by kind of character, taken from a wide sans serif face, so that
what is laid out by them has room in the usual ones.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable
from xml.sax.saxutils import escape

__all__ = [
    "FONT",
    "LINE",
    "clean",
    "markup",
    "number",
    "percent",
    "sentence",
    "shorten",
    "signed",
    "wide",
    "wrap",
]

FONT = 13.5  # size of all text, in units of the viewBox
LINE = 18.0  # from one line of text to the next

# Parts of the size of the font, by character; what is not here goes by its kind.
_ADVANCES = {
    character: part
    for part, characters in (
        (0.36, "iIjJl|.,:;'’‘`·/-′\\ "),
        (0.42, "ftr()[]!″⁰¹²³⁴⁵⁶⁷⁸⁹"),
        (0.55, 'csz°–"⁻*L'),
        (0.62, "kvxyFTY"),
        (0.7, "ABEKPRSVXZ"),
        (0.86, "wM±→←×+−=<>~"),
        (1.0, "mW%@#&…"),
    )
    for character in characters
}
_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
# Controls, marks of direction, halves of pairs and what is no character: XML bars most of
# them, and a mark of direction could turn the text beside it round.
_NO_TEXT = frozenset(("Cc", "Cf", "Cs", "Cn"))


def clean(text: str) -> str:
    """Return text on one line without characters that XML bars or that turn text round."""
    kept = (" " if c.isspace() else c for c in str(text))
    return " ".join(
        "".join(c for c in kept if unicodedata.category(c) not in _NO_TEXT).split(),
    )


def wide(text: str) -> float:
    """Return an upper estimate of a text's width, in units of the viewBox."""
    return FONT * sum(_advance(c) for c in text)


def _advance(character: str) -> float:
    """Return a character's width in parts of the size of the font."""
    if unicodedata.combining(character):
        return 0.0
    if character in _ADVANCES:
        return _ADVANCES[character]
    if ord(character) > 0x24F:
        return 1.05 if unicodedata.east_asian_width(character) in "WFA" else 0.95
    return 0.8 if character.isupper() else 0.65


def shorten(text: str, room: float) -> str:
    """Return text, cut with an ellipsis where it is wider than ``room``; cleaned."""
    text = clean(text)
    if wide(text) <= room:
        return text
    while text and wide(text + "…") > room:
        text = text[:-1].rstrip()
    return text + "…" if text else ""


def wrap(text: str, room: float, most: int = 3) -> list[str]:
    """Return text in lines no wider than ``room``, ``most`` at the most, the last one cut."""
    lines: list[str] = []
    words = clean(text).split()
    while words:
        line = words.pop(0)
        while words and wide(f"{line} {words[0]}") <= room:
            line = f"{line} {words.pop(0)}"
        if len(lines) == most - 1:
            line = " ".join((line, *words))
            words = []
        lines.append(shorten(line, room))
    return [line for line in lines if line]


def markup(text: str, *, genus: bool = False) -> str:
    """Return cleaned text as it is written in SVG, a genus in a span of its own."""
    written = escape(clean(text))
    return f'<tspan class="genus">{written}</tspan>' if genus else written


def number(value: float | None, digits: int = 3) -> str:
    """Say a number to so many significant digits, without an exponent where it can be.

    Parameters
    ----------
    value : float or None
        What is said; None and what is not finite are "unknown".
    digits : int
        Significant digits.

    Returns
    -------
    str
        With a true minus; the last zeros after the point are left off.

    Examples
    --------
    >>> number(12.3456), number(0.0), number(1234567.0)
    ('12.3', '0', '1230000')
    """
    if value is None or not math.isfinite(value):
        return "unknown"
    if value == 0:
        return "0"
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    power = int(exponent)
    if -5 < power < 7:
        text = f"{float(f'{mantissa}e{exponent}'):.{max(0, digits - 1 - power)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    else:
        text = mantissa.rstrip("0").rstrip(".") if "." in mantissa else mantissa
        text += f"×10{str(power).translate(_SUPERSCRIPT)}"
    return text.replace("-", "−")


def signed(text: str) -> str:
    """Return a number's text with a plus where it is above 0."""
    return text if text in ("0", "unknown") or text.startswith("−") else f"+{text}"


def percent(share: float) -> str:
    """Say a share from 0 to 1 in percent, to a whole one or, below 1, to the first digit."""
    value = 100 * share
    if 0 < value < 0.1:
        return "<0.1 %"
    return f"{number(round(value)) if value >= 1 else number(value, 1)} %"


def sentence(parts: Iterable[str]) -> str:
    """Join what a plot tells into the text that stands for it."""
    return "; ".join(part for part in map(clean, parts) if part)
