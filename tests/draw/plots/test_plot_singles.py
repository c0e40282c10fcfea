"""Plots of one estimate a row, and what a plot says in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from plot_reading import HOSTILE, LABELS, WIDTHS, number, of_class, read, text_at, texts

from corallum.draw.plots import NARROW, WIDE, Single, Span, plot_singles, spoken

ROWS = [Single("Porites", Span(20, 15, 25)), Single("Favites", Span(50)), Single("Pavona")]


@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_estimates_stand_at_their_values(width: int) -> None:
    """A value's place is in proportion between two ticks; an interval spans its ends."""
    svg = plot_singles(ROWS, "% of colonies", width, what="Named right")
    zero, fifty = text_at(svg, "0")[0], text_at(svg, "50")[0]

    def place(value: float) -> float:
        return zero + value / 50 * (fifty - zero)

    marks = [number(one, "cx") for one in of_class(svg, "full")]
    assert marks == pytest.approx([place(20), place(50)], abs=0.02)
    (line,) = of_class(svg, "thick")
    ends = [number(line, "x1"), number(line, "x2")]
    assert ends == pytest.approx([place(15), place(25)], abs=0.02)


def test_there_is_no_key_of_what_is_not_there() -> None:
    """One estimate a row needs no key: nothing is called uncorrected or corrected."""
    svg = plot_singles(ROWS, "%", WIDE)
    assert not of_class(svg, "open")
    assert not [text for text in texts(svg) if "corrected" in str(text)]


def test_it_says_its_figures_once() -> None:
    """In words: each row, its estimate and interval, or that there is none."""
    said = spoken(plot_singles(ROWS, "% of colonies", what="Named right"))
    assert said == (
        "Named right, % of colonies; Porites: 20 (15 to 25); "
        "Favites: 50 (interval unknown); Pavona: no estimate"
    )


@given(LABELS, WIDTHS)
def test_what_is_spoken_is_the_label(label: str, width: int) -> None:
    """The words of a plot are its label as a reader of XML has it."""
    svg = plot_singles([Single(label, Span(1, 0, 2))], label, width)
    assert spoken(svg) == read(svg).get("aria-label")


def test_words_of_no_plot_are_none() -> None:
    """A picture without a label says nothing; a hostile name comes through as text."""
    assert not spoken("<svg viewBox='0 0 1 1'></svg>")
    assert "<script>" in spoken(plot_singles([Single(HOSTILE, Span(1))], "%"))
