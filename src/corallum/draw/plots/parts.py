"""Where the uncertainty comes from: one bar, cut into the parts of the variance.

Parts differ by their hatching, not by colour, and each is named beside the bar.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from corallum.draw.plots.axes import known
from corallum.draw.plots.labels import spread
from corallum.draw.plots.sheet import EDGE, NARROW, Sheet, empty_plot
from corallum.draw.plots.text import LINE, clean, percent, shorten, wide, wrap

__all__ = ["Part", "plot_parts"]

_MOST = 8


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the variance.

    Parameters
    ----------
    label : str
        Where it comes from, such as "transects".
    variance : float
        In any unit, the same for all parts; 0 or more. What is not finite or below 0 is
        said to be unknown and left out of the bar.
    """

    label: str
    variance: float


def plot_parts(
    parts: Sequence[Part], width: int = NARROW, *, what: str = "Where the variance comes from"
) -> str:
    """Plot one bar of all variance, cut into its parts.

    Parameters
    ----------
    parts : sequence of Part
        From top to bottom; those after the eighth are drawn as one.
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    what : str
        Head of the plot.

    Returns
    -------
    str
        One ``<svg>``.
    """
    good = [p for p in parts if (known(p.variance) or -1.0) >= 0 or p.variance == 0]
    missing = [clean(p.label) for p in parts if p not in good]
    if len(good) > _MOST:
        rest = sum(p.variance for p in good[_MOST - 1 :])
        good = [*good[: _MOST - 1], Part("all others", rest)]
    total = sum(p.variance for p in good)
    if not total > 0:
        return empty_plot(what, width, "No variance estimated yet.")
    unknown = f"Not known: {', '.join(missing)}" if missing else ""
    sheet = Sheet(width)
    top = sheet.heading(what) + 8
    high = max(150.0 if sheet.slim else 190.0, len(good) * (LINE + 4))
    _draw_bar(sheet, good, total, (top, high))
    bottom = top + high + 8
    for line in wrap(unknown, width - 2 * EDGE):
        bottom += LINE
        sheet.text((EDGE, bottom - 4), line, kind="soft")
    told = [f"{p.label} {percent(p.variance / total)}" for p in good]
    return sheet.close(bottom, (what, *told, unknown))


def _draw_bar(
    sheet: Sheet, parts: Sequence[Part], total: float, place: tuple[float, float]
) -> None:
    """Draw the bar's pieces with their hatching and, led to by a line, their names."""
    top, high = place
    left, broad = EDGE, 74.0 if sheet.slim else 150.0
    pieces = []
    y = top
    for k, part in enumerate(parts):
        tall = high * part.variance / total
        sheet.box(left, y, (broad, tall), "piece")
        _HATCHES[k % len(_HATCHES)](sheet, left, y, (broad, tall))
        pieces.append(y + tall / 2)
        y += tall
    rows = spread(pieces, [LINE] * len(parts), top, top + high)
    right = left + broad
    for part, middle, row in zip(parts, pieces, rows, strict=True):
        sheet.path([(right, middle), (right + 12, middle), (right + 26, row)], "lead")
        share = percent(part.variance / total)
        room = sheet.width - EDGE - right - 32
        label = shorten(part.label, room - wide(f"{share} "))
        sheet.text((right + 32, row + 4.5), f"{share} {label}")


def _slanted(sheet: Sheet, left: float, top: float, size: tuple[float, float], rise: int) -> None:
    """Hatch with lines at 45 degrees, cut at the piece's edges; ``rise`` 1 goes upwards."""
    broad, tall = size
    step = 9.0
    count = int((broad + tall) / step)
    for k in range(1, count + 1):
        d = k * step
        # The line x + y = d within the piece, y downwards.
        x0, x1 = max(0.0, d - tall), min(broad, d)
        if x1 - x0 < 0.5:
            continue
        ys = (d - x0, d - x1) if rise > 0 else (tall - d + x0, tall - d + x1)
        sheet.line((left + x0, top + ys[0]), (left + x1, top + ys[1]), "hatch")


def _up(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Hatch upwards."""
    _slanted(sheet, left, top, size, 1)


def _crossed(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Hatch both ways."""
    _slanted(sheet, left, top, size, 1)
    _slanted(sheet, left, top, size, -1)


def _dotted(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Strew dots in even rows."""
    for j in range(int(size[1] / 9)):
        for i in range(int(size[0] / 9)):
            sheet.shape((left + 5 + 9 * i, top + 5 + 9 * j), 1.8, "dust")


def _plain(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Leave it empty."""


def _flat(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Rule across."""
    for k in range(1, int(size[1] / 7) + 1):
        sheet.line((left, top + 7 * k - 3), (left + size[0], top + 7 * k - 3), "hatch")


def _upright(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Rule downwards."""
    for k in range(1, int(size[0] / 9) + 1):
        sheet.line((left + 9 * k - 4, top), (left + 9 * k - 4, top + size[1]), "hatch")


def _solid(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Fill it."""
    sheet.box(left, top, size, "dust")


def _down(sheet: Sheet, left: float, top: float, size: tuple[float, float]) -> None:
    """Hatch downwards."""
    _slanted(sheet, left, top, size, -1)


_Hatch = Callable[[Sheet, float, float, tuple[float, float]], None]
_HATCHES: tuple[_Hatch, ...] = (
    _up, _dotted, _crossed, _plain, _upright, _solid, _flat, _down,
)  # fmt: skip
