"""Bars are as long as what they stand for, and say it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plot_reading import HOSTILE, LABELS, VALUES, WIDTHS, number, of_class, read, size

from corallum.draw.plots import NARROW, WIDE, Bar, plot_bars


def lengths(svg: str) -> list[float]:
    """How long each bar is."""
    return [number(bar, "width") for bar in of_class(svg, "block")]


@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_bars_are_in_proportion(width: int) -> None:
    """A bar of three quarters is three times one of a quarter; nothing is nothing."""
    svg = plot_bars([Bar("a", 75, "75%"), Bar("b", 25, "25%"), Bar("c", 0, "0%")], width,
                    what="Share, %", full=100)  # fmt: skip
    three, one, none = lengths(svg)
    assert three == pytest.approx(3 * one, abs=0.05)
    assert none == 0


def test_the_axis_reaches_all_that_is_asked_for() -> None:
    """With 100 as the whole, a bar of 50 ends half-way along the axis."""
    svg = plot_bars([Bar("a", 50, "50%")], WIDE, what="Share, %", full=100)
    (zero,) = of_class(svg, "zero")
    last = max(number(line, "x1") for line in of_class(svg, "grid"))
    assert lengths(svg)[0] == pytest.approx((last - number(zero, "x1")) / 2, abs=0.05)


def test_a_bar_below_zero_goes_the_other_way() -> None:
    """It ends where the other begins, at 0."""
    svg = plot_bars([Bar("a", -1, "−1"), Bar("b", 1, "1")], WIDE, what="Kappa")
    left, right = of_class(svg, "block")
    assert number(left, "x") + number(left, "width") == pytest.approx(number(right, "x"), abs=0.05)


def test_an_interval_is_drawn_about_its_bars_end() -> None:
    """One line with two ends, in proportion too."""
    svg = plot_bars([Bar("a", 0.5, ".5", 0.4, 0.8)], WIDE, what="Share", full=1)
    line, *caps = of_class(svg, "thin")
    bar = lengths(svg)[0]
    assert len(caps) == 2
    assert number(line, "x2") - number(line, "x1") == pytest.approx(0.8 * bar, abs=0.1)


def test_words_tell_every_bar_and_count_the_rest() -> None:
    """Who can't see it is told the same, and what is not drawn is counted."""
    svg = plot_bars([Bar(f"genus {i}", i, f"{i} bits") for i in range(33)], WIDE, what="Gain")
    told = read(svg).attrib["aria-label"]
    assert "genus 7 7 bits" in told
    assert told.endswith("3 more not drawn.")
    assert len(lengths(svg)) == 30


def test_nothing_to_draw_says_so() -> None:
    """Values that are none leave a plot that says that there is no data."""
    assert "No data yet" in plot_bars([Bar("a", float("nan"), "–")], what="Share")


@settings(max_examples=40)
@given(st.lists(st.tuples(LABELS, VALUES, VALUES, VALUES), max_size=5), WIDTHS)
def test_any_bars_make_a_sound_plot(
    bars: list[tuple[str, float, float, float]], width: int
) -> None:
    """Whatever the labels and numbers, it is well formed and no bar leaves the sheet."""
    made = [Bar(label, value, HOSTILE[:9], low, high) for label, value, low, high in bars]
    svg = plot_bars(made, width, what=HOSTILE)
    for bar in of_class(svg, "block"):
        assert -0.01 <= number(bar, "x") <= number(bar, "x") + number(bar, "width") <= size(svg)[0]
