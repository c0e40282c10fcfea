"""Texts in plots have the room that they are given, and numbers are said as people say them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont
from plot_reading import LABELS

from corallum.draw.plots.text import FONT, clean, number, percent, shorten, signed, wide, wrap

SAMPLES = [
    "Acropora",
    "Paragoniastrea",
    "Montipora, encrusting",
    "Where the variance comes from",
    "WWWWMMMM mmmm @@@",
    "ABCDEFGHIJKLMNOPQRSTUVWXYZ",
    "abcdefghijklmnopqrstuvwxyz",
    "0123456789.,:;()[]!?'\"&<>/%±−+×°′″…",
    "18°20′30″S",
    "← less, more →",
    "colonies per m²",
    "1.5×10⁻⁷",
]


@pytest.mark.parametrize("text", SAMPLES)
@pytest.mark.parametrize("face", ["DejaVuSans.ttf", "LiberationSans-Regular.ttf"])
def test_a_text_is_no_wider_than_estimated(text: str, face: str) -> None:
    """Measured in a wide and in a usual face, a text fits the estimate, which is no waste."""
    try:
        font = ImageFont.truetype(face, 100)
    except OSError:
        pytest.skip(f"the face {face} is not on this machine")

    measured = font.getlength(text) * FONT / 100

    assert measured <= wide(text)
    assert wide(text) <= 1.5 * measured + FONT


@given(text=LABELS, room=st.floats(0, 200))
def test_a_shortened_text_fits_and_is_a_beginning(text: str, room: float) -> None:
    """A shortened text fits its room and is all or, but for the ellipsis, the text's beginning."""
    short = shorten(text, room)

    assert wide(short) <= room
    assert clean(text).startswith(short.removesuffix("…"))


@given(text=LABELS, room=st.floats(30, 300))
def test_wrapped_lines_fit(text: str, room: float) -> None:
    """Each line of a wrapped text fits its room, and there are three at most."""
    lines = wrap(text, room)

    assert len(lines) <= 3
    assert all(wide(line) <= room for line in lines)


def test_a_text_with_room_loses_nothing() -> None:
    """Wrapping breaks between words and keeps all of them."""
    text = "half width of the interval, % cover, by transects of 20 m"

    assert " ".join(wrap(text, 250)) == text


def test_controls_and_marks_of_direction_are_left_out() -> None:
    """What XML bars and what turns text round goes; a line's end becomes a space."""
    assert clean("a\x00b\u202ec\ufffe\n d") == "abc d"


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (0.0, "0"),
        (12.34, "12.3"),
        (-0.5, "\u22120.5"),
        (100.0, "100"),
        (1234.0, "1230"),
        (0.000123, "0.000123"),
        (99.96, "100"),
        (2.5e9, "2.5×10⁹"),
        (1e-7, "1×10⁻⁷"),
        (float("nan"), "unknown"),
        (None, "unknown"),
    ],
)
def test_numbers_are_rounded_to_three_digits(value: float | None, said: str) -> None:
    """A number has three significant digits, a true minus, and no zeros behind the point."""
    assert number(value) == said


def test_a_share_below_one_percent_is_not_none() -> None:
    """Shares are whole percents, but a small one keeps its first digit."""
    assert [percent(share) for share in (0.524, 0.004, 0.0)] == ["52 %", "0.4 %", "0 %"]


def test_what_grew_has_a_plus() -> None:
    """A plus stands before numbers above 0 only."""
    assert [signed(text) for text in ("2", "\u22122", "0")] == ["+2", "\u22122", "0"]
