"""Room for labels: rows that keep apart, and places around marks that are free."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = ["Box", "Label", "Placed", "place_labels", "spread"]


def spread(
    wanted: Sequence[float], sizes: Sequence[float], first: float, last: float
) -> list[float]:
    """Return middles as near to those wanted as keeps labels apart and between two ends.

    Parameters
    ----------
    wanted : sequence of float
        Where each would stand alone, in any order, which is kept.
    sizes : sequence of float
        How high each label is.
    first, last : float
        Ends; where there are too many to fit, they run on past the last.

    Returns
    -------
    list of float
        One middle for each, in the order given.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    middles = [0.0] * len(wanted)
    floor = first
    for i in order:
        middles[i] = max(wanted[i], floor + sizes[i] / 2)
        floor = middles[i] + sizes[i] / 2
    roof = max(last, first + sum(sizes))
    for i in reversed(order):
        middles[i] = min(middles[i], roof - sizes[i] / 2)
        roof = middles[i] - sizes[i] / 2
    return middles


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle that is taken, in units of the viewBox, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box, gap: float = 0.0) -> bool:
        """Return whether two boxes overlap or come nearer than the gap."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )

    def within(self, other: Box) -> bool:
        """Return whether this box lies in another."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )

    def crossed(self, a: tuple[float, float], b: tuple[float, float]) -> bool:
        """Return whether a line from a to b passes through this box."""
        start, end = 0.0, 1.0
        for low, high, from_, by in (
            (self.left, self.right, a[0], b[0] - a[0]),
            (self.top, self.bottom, a[1], b[1] - a[1]),
        ):
            if by == 0:
                if not low < from_ < high:
                    return False
                continue
            first, second = sorted(((low - from_) / by, (high - from_) / by))
            start, end = max(start, first), min(end, second)
        return start < end


Lead = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Placed:
    """A label's box, the line to it where it stands far off, and how many places are better."""

    box: Box
    lead: Lead | None
    rank: int


@dataclass(frozen=True, slots=True)
class Label:
    """A label to be placed: the mark that it stands for, and its (width, height)."""

    mark: Box
    size: tuple[float, float]


_MANY = 40  # of more labels only two orders are tried, to save time
_FARTHEST = 90.0  # from a mark to its label
_UNPLACED = 1000  # how much worse no place is than any


def place_labels(labels: Sequence[Label], frame: Box, gap: float = 3.5) -> list[Placed | None]:
    """Return a free place for each label within a frame, or None where there is none.

    Parameters
    ----------
    labels : sequence of Label
        With their marks, which no label covers.
    frame : Box
        In which labels must stay.
    gap : float
        Least room between a label and any mark or other label.

    Returns
    -------
    list of Placed or None
        In the order given. Of five orders in which labels may take their places, that which
        leaves them nearest to their marks.
    """
    every = range(len(labels))
    orders = [
        list(every), list(every)[::-1],
        sorted(every, key=lambda i: labels[i].mark.left),
        sorted(every, key=lambda i: labels[i].mark.top),
        sorted(every, key=lambda i: -labels[i].mark.left),
    ]  # fmt: skip
    plans = [
        _place_in(order, labels, frame, gap) for order in orders[: 5 if len(labels) <= _MANY else 2]
    ]
    return min(plans, key=lambda plan: sum(p.rank if p else _UNPLACED for p in plan))


def _place_in(
    order: list[int], labels: Sequence[Label], frame: Box, gap: float
) -> list[Placed | None]:
    """Place labels one after the other."""
    taken = [label.mark for label in labels]
    leads: list[Lead] = []
    plan: list[Placed | None] = [None] * len(labels)
    for i in order:
        # A line may leave through marks that overlap its own: there is no other way out.
        marks = [label.mark for label in labels if not label.mark.meets(labels[i].mark)]
        others = marks + taken[len(labels) :]
        placed = _place(labels[i], (taken, others), leads, (frame, gap))
        plan[i] = placed
        if placed:
            taken.append(placed.box)
            if placed.lead:
                leads.append(placed.lead)
    return plan


def _place(
    label: Label, boxes: tuple[list[Box], list[Box]], leads: list[Lead], room: tuple[Box, float]
) -> Placed | None:
    """Return the nearest free place for a label, whose line crosses no other box."""
    taken, others = boxes
    frame, gap = room
    mark, (wide, high) = label.mark, label.size
    # No place that is tried lies beyond this, so nothing beyond it is in the way.
    reach_x, reach_y = _FARTHEST + wide + gap, _FARTHEST + high + gap
    reach = Box(
        mark.left - reach_x, mark.top - reach_y, mark.right + reach_x, mark.bottom + reach_y
    )
    taken, others = ([one for one in some if reach.meets(one)] for some in (taken, others))
    leads = [one for one in leads if reach.meets(_around_line(one))]
    for rank, (box, far) in enumerate(_around(mark, label.size, gap + 0.5)):
        if not box.within(frame) or any(box.meets(other, gap) for other in taken):
            continue
        if any(box.crossed(*lead) for lead in leads):
            continue
        if not far:
            return Placed(box, None, rank)
        middle = (mark.left + mark.right) / 2, (mark.top + mark.bottom) / 2
        x = min(max(middle[0], box.left), box.right)
        y = min(max(middle[1], box.top), box.bottom)
        if not any(other.crossed(middle, (x, y)) for other in others):
            return Placed(box, (middle, (x, y)), rank)
    return None


def _around_line(line: Lead) -> Box:
    """Return the box round a line, a hair wider than a line that stands upright."""
    (a, b), (c, d) = line
    return Box(min(a, c) - 1, min(b, d) - 1, max(a, c) + 1, max(b, d) + 1)


def _around(mark: Box, size: tuple[float, float], least: float) -> Iterator[tuple[Box, bool]]:
    """Yield places around a mark, the near before the far, right before left."""
    wide, high = size
    x, y = (mark.left + mark.right) / 2, (mark.top + mark.bottom) / 2
    for gap in (least, 16.0, 30.0, 46.0, 64.0, _FARTHEST):
        right, left = mark.right + gap, mark.left - gap - wide
        above, below = mark.top - gap - high, mark.bottom + gap
        beside = (
            (right, y - high / 2), (left, y - high / 2), (x - wide / 2, above),
            (x - wide / 2, below), (mark.left, above), (mark.left, below),
            (mark.right - wide, above), (mark.right - wide, below),
        )  # fmt: skip
        corners = ((right, above), (right, below), (left, above), (left, below))
        for at in beside:
            yield Box(*at, at[0] + wide, at[1] + high), gap > least
        for at in corners:
            # So near to other marks that only a line says whose it is.
            yield Box(*at, at[0] + wide, at[1] + high), True
        if gap > least:
            yield from ((box, True) for box in _round_about(mark, size, gap))


def _round_about(mark: Box, size: tuple[float, float], gap: float) -> Iterator[Box]:
    """Yield places all round a mark, their middles on an ellipse that clears it."""
    wide, high = size
    x, y = (mark.left + mark.right) / 2, (mark.top + mark.bottom) / 2
    to_x = (mark.right - mark.left + wide) / 2 + gap
    to_y = (mark.bottom - mark.top + high) / 2 + gap
    for k in range(16):
        turn = math.tau * k / 16
        left, top = x + to_x * math.cos(turn) - wide / 2, y + to_y * math.sin(turn) - high / 2
        yield Box(left, top, left + wide, top + high)
