"""Estimates with their intervals, as rows of a plot, and how they are said."""

from __future__ import annotations

from dataclasses import dataclass

from corallum.draw.plots.axes import known
from corallum.draw.plots.text import number, signed

__all__ = ["BeforeAfter", "Row", "Single", "Span", "ends", "say", "sound"]


@dataclass(frozen=True, slots=True)
class Span:
    """An estimate and the interval around it, in the plot's unit.

    Parameters
    ----------
    value : float
        The estimate; not finite means that there is none.
    low, high : float
        Ends of its interval; not finite means that it is not known.
    """

    value: float
    low: float = float("nan")
    high: float = float("nan")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a plot of pairs or of changes.

    Parameters
    ----------
    label : str
        What it stands for, a genus for the most part.
    uncorrected, corrected : Span or None
        As the observers said it, and with their errors corrected; None where there is none.
    genus : bool
        Whether the label is a genus's name, which is written in italics.
    """

    label: str
    uncorrected: Span | None = None
    corrected: Span | None = None
    genus: bool = True


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """One row of a plot of two surveys.

    Parameters
    ----------
    label : str
        What it stands for.
    before, after : Span or None
        Estimates of the earlier and of the later survey; None where there is none.
    genus : bool
        Whether the label is a genus's name, which is written in italics.
    """

    label: str
    before: Span | None = None
    after: Span | None = None
    genus: bool = True


@dataclass(frozen=True, slots=True)
class Single:
    """One row of a plot of one estimate each.

    Parameters
    ----------
    label : str
        What it stands for, a genus for the most part.
    span : Span or None
        The estimate; None where there is none.
    genus : bool
        Whether the label is a genus's name, which is written in italics.
    """

    label: str
    span: Span | None = None
    genus: bool = True


def sound(span: Span | None) -> Span | None:
    """Return a span that can be drawn, its interval in order, or None where there is none."""
    if span is None or known(span.value) is None:
        return None
    low, high = known(span.low), known(span.high)
    if low is None or high is None:
        return Span(span.value)
    return Span(span.value, min(low, high), max(low, high))


def ends(span: Span) -> tuple[float, float] | None:
    """Return a sound span's interval, or None where it is not known."""
    return None if known(span.low) is None else (span.low, span.high)


def say(span: Span | None, *, sign: bool = False) -> str:
    """Say a sound span: "12 (8 to 16)", with a plus above 0 where ``sign`` is on."""
    if span is None:
        return "no estimate"
    value, low, high = (number(n) for n in (span.value, span.low, span.high))
    if sign:
        value, low, high = signed(value), signed(low), signed(high)
    return f"{value} ({low} to {high})" if ends(span) else f"{value} (interval unknown)"
