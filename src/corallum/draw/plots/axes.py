"""Axes of plots: round ticks in steps of 1, 2 or 5, and places along them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from corallum.draw.plots.text import number, wide

__all__ = ["LARGEST", "Axis", "known", "lay_axis", "round_ticks", "tick_texts"]

LARGEST = 1e12  # beyond this nothing that a survey counts can be meant
_LEAST = 1e-9  # two ends nearer than this are one
_APART = 9.0  # least room between two ticks' texts


def known(value: float | None) -> float | None:
    """Return a value, or None where it is missing, not finite or beyond any survey."""
    if value is None or not math.isfinite(value) or abs(value) > LARGEST:
        return None
    return float(value)


def round_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return round numbers in even steps of 1, 2 or 5 times a power of ten.

    Parameters
    ----------
    low, high : float
        Ends of the data; they may be equal or in the wrong order.
    most : int
        The most ticks; 3 are needed where the data lie to both sides of 0.

    Returns
    -------
    list of float
        At least two, the first at or below all data, the last at or above.

    Examples
    --------
    >>> round_ticks(0, 43, 6)
    [0.0, 10.0, 20.0, 30.0, 40.0, 50.0]
    """
    low, high = min(low, high), max(low, high)
    size = max(abs(low), abs(high))
    if high - low < max(_LEAST, 1e-3 * size):
        # Equal ends: room to both sides, yet not past 0 to where nothing is.
        room = 0.05 * size or 1.0
        low, high = (low - room if low else 0.0), high + room
    most = max(most, 3 if low < 0 < high else 2)
    power = math.floor(math.log10((high - low) / most))
    while True:
        for part in (1, 2, 5):
            first, last = _whole(low, part, power), -_whole(-high, part, power)
            if 1 <= last - first < most:
                return [_times(k * part, power) for k in range(first, last + 1)]
        power += 1


def _whole(low: float, part: int, power: int) -> int:
    """Return how many steps lie at or below ``low``; what rounding adds does not count."""
    steps = low / _times(part, power)
    nearest = round(steps)
    return (
        nearest if math.isclose(steps, nearest, rel_tol=1e-9, abs_tol=1e-9) else math.floor(steps)
    )


def _times(whole: int, power: int) -> float:
    """Return ``whole`` times a power of ten as the number nearest to it."""
    return float(whole * 10**power) if power >= 0 else whole / 10**-power


def tick_texts(ticks: Sequence[float]) -> list[str]:
    """Return ticks' texts, all with the digits that their step needs."""
    step = min((abs(b - a) for a, b in pairwise(ticks)), default=1.0)
    texts = []
    for tick in ticks:
        digits = 1 if tick == 0 else 1 + math.floor(math.log10(abs(tick)) + 1e-9)
        digits -= math.floor(math.log10(step) + 1e-9)
        texts.append(number(tick, max(1, digits)))
    return texts


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis between two places: its ticks, their texts, and the way from value to place."""

    ticks: tuple[float, ...]
    texts: tuple[str, ...]
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value, in units of the viewBox; outside it, the nearer end."""
        low, high = self.ticks[0], self.ticks[-1]
        share = min(1.0, max(0.0, (value - low) / (high - low)))
        return self.start + share * (self.end - self.start)

    def places(self) -> list[tuple[float, str]]:
        """Return each tick's place and text."""
        return [(self.at(t), text) for t, text in zip(self.ticks, self.texts, strict=True)]


def lay_axis(values: Iterable[float], left: float, right: float, most: int = 8) -> Axis:
    """Lay an axis so that its ticks' texts stay between two places and apart.

    Parameters
    ----------
    values : iterable of float
        What it must hold; finite. Without any, it runs from 0 to 1.
    left, right : float
        Between which places its texts must stay.
    most : int
        The most ticks.

    Returns
    -------
    Axis
        With as many ticks as there is room for; its ends are ticks.
    """
    held = list(values) or [0.0, 1.0]
    while True:
        ticks = round_ticks(min(held), max(held), most)
        texts = tick_texts(ticks)
        widths = [wide(text) for text in texts]
        start, end = left + widths[0] / 2, right - widths[-1] / 2
        step = (end - start) / (len(ticks) - 1)
        needed = max((a + b) / 2 for a, b in pairwise(widths)) + _APART
        if step >= needed:
            return Axis(tuple(ticks), tuple(texts), start, end)
        if most <= 2:
            # The last number alone, and the first where it has room.
            first = texts[0] if end - start >= (widths[0] + widths[-1]) / 2 + _APART else ""
            kept = (first, *[""] * (len(texts) - 2), texts[-1])
            return Axis(tuple(ticks), kept, start, end)
        most -= 1


def rise_axis(values: Iterable[float], bottom: float, top: float) -> Axis:
    """Lay an upright axis, with a tick to every 40 units or so."""
    held = list(values) or [0.0, 1.0]
    most = max(3, min(8, 1 + int((bottom - top) / 36)))
    ticks = round_ticks(min(held), max(held), most)
    return Axis(tuple(ticks), tuple(tick_texts(ticks)), bottom, top)
