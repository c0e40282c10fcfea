"""How results are said, on pages and in reports: digits that count, intervals, and sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from corallum.actions.plain_words import GAP, percent
from corallum.actions.survey_changes import ChangeRow
from corallum.actions.survey_estimates import Span, SurveyRow
from corallum.estimate.survey_table import ALL_CORAL, SurveyTable

__all__ = [
    "Figure",
    "RowFigures",
    "chance",
    "change_figures",
    "change_sentences",
    "changes_first",
    "common_digits",
    "decline_words",
    "digits_of",
    "doubt_sentence",
    "estimate_sentence",
    "figure",
    "genera_of",
    "group_label",
    "has_upper_end",
    "largest_first",
    "matters_most",
    "names_share",
    "number",
    "points_word",
    "row_figures",
    "unit_words",
]

_UNNAMED = "stony coral"
# An interval that ends this many times above its figure says nothing of its upper side.
_NO_END = 50.0
_FULL_COVER = 100.0
_LEAST_SHARE, _MATTERS = 0.005, 0.1
_MOST_DIGITS = 4
# Less than this is what is left of sums that should be 0.
_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as it is read: "4.4", and "2.2 to 8.7"; no interval is empty."""

    value: str
    interval: str

    @property
    def whole(self) -> str:
        """Both in one line."""
        return f"{self.value} ({self.interval})" if self.interval else self.value


def number(value: float, digits: int, *, sign: bool = False) -> str:
    """Write a number with so many digits after the point, a true minus, and a plus if asked."""
    if not math.isfinite(value):
        return "—"
    text = f"{value:+.{digits}f}" if sign else f"{value:.{digits}f}"
    if not float(text):
        text = text.lstrip("+-")
    return text.replace("-", "−")


def digits_of(span: Span) -> int:
    """Return how many digits after the point count.

    Two of the standard error, but no more than four of the figure; three of a figure that
    has no standard error.
    """
    size = abs(span.value)
    se = span.se if math.isfinite(span.se) and span.se > _TINY * size else size / 10
    if not se > _TINY:
        return 1
    most = 3 - math.floor(math.log10(size)) if size > _TINY else _MOST_DIGITS
    return min(max(min(1 - math.floor(math.log10(se)), most), 0), _MOST_DIGITS)


def has_upper_end(span: Span, unit: str) -> bool:
    """Whether the upper end of an interval says anything."""
    if not math.isfinite(span.high):
        return False
    if unit == "%" and span.high >= _FULL_COVER and span.value < _FULL_COVER / 2:
        return False
    return span.value <= 0 or span.high <= _NO_END * span.value


def common_digits(*spans: Span | None) -> int:
    """Return how many digits after the point figures that stand side by side share."""
    return min((digits_of(one) for one in spans if one is not None), default=1)


def figure(
    span: Span | None, unit: str, *, sign: bool = False, digits: int | None = None
) -> Figure | None:
    """Say a figure and its interval.

    Parameters
    ----------
    span : Span or None
        None, or without a value: there is no figure.
    unit : str
        "%" or "colonies per m2"; a cover can't end above 100.
    sign : bool
        Whether it is a change: with a plus or a minus, and with both ends.
    digits : int or None
        After the point; None is as many as count.
    """
    if span is None or not math.isfinite(span.value):
        return None
    digits = digits_of(span) if digits is None else digits
    value = number(span.value, digits, sign=sign)
    if not math.isfinite(span.low) or (sign and not math.isfinite(span.high)):
        return Figure(value, "")
    low = number(span.low, digits, sign=sign)
    if not sign and not has_upper_end(span, unit):
        return Figure(value, f"{low} or more, no upper end")
    high = min(span.high, _FULL_COVER) if unit == "%" and not sign else span.high
    return Figure(value, f"{low} to {number(high, digits, sign=sign)}")


def unit_words(unit: str) -> str:
    """Say a unit in a heading."""
    return "% of the bottom" if unit == "%" else "colonies per m²"


def points_word(unit: str) -> str:
    """Say the unit of a change."""
    return "percentage points" if unit == "%" else "colonies per m²"


def group_label(group: str) -> str:
    """Say a group in a table."""
    if group == ALL_CORAL:
        return "All stony coral"
    return "stony coral, no genus said" if group == _UNNAMED else group.replace("_", " ")


def estimate_sentence(row: SurveyRow, unit: str, where: str = "") -> str:
    """Say what there is of stony coral, as said and corrected."""
    said, best = figure(row.said, unit), figure(row.best, unit)
    if said is None or best is None:
        return f"There is no figure of stony coral{where}."
    how = ""
    if row.by_readings is not None:
        how = "corrected by second readings"
    elif row.by_errors is not None:
        how = "corrected by the observers' errors"
    told = _amount(best, unit)
    if not how:
        return f"{told}{where}, as it was said: nothing corrects it yet."
    return f"{told}{where}, {how}; {said.whole} as it was said."


def _amount(one: Figure, unit: str) -> str:
    """Say an amount of stony coral."""
    between = f" ({one.interval})" if one.interval else " (no interval)"
    if unit == "%":
        return f"Stony coral covers {one.value}{GAP}%{between} of the bottom"
    return f"There are {one.value}{between} colonies of stony coral per m²"


def doubt_sentence(share: float | None) -> str:
    """Say how much of a figure's doubt names cause, and what more second readings can gain."""
    if share is None or not math.isfinite(share):
        return ""
    if share < _LEAST_SHARE:
        return (
            "Names cause next to none of its doubt: a mistaken genus is still stony coral. More "
            "second readings would not make this figure surer; more transects would."
        )
    shorter = 100 * (1 - math.sqrt(max(1 - share, 0.0)))
    return (
        f"Names cause {percent(share)} of its variance, and more second readings can take away "
        f"at most that: the interval would be {shorter:.0f}{GAP}% shorter. The rest is the reef "
        "between transects."
    )


def matters_most(rows: Sequence[SurveyRow], most: int = 3) -> tuple[tuple[str, float], ...]:
    """Return the groups in whose figures names cause the largest shares of the variance."""
    shares = [
        (row.group, share)
        for row in rows
        if row.group != ALL_CORAL
        and (share := row.readings_share if row.readings_share is not None else row.errors_share)
        is not None
        and share >= _MATTERS
    ]
    return tuple(sorted(shares, key=lambda one: -one[1])[:most])


def chance(value: float | None) -> str:
    """Say a chance; a decline of what was not there before has none."""
    return "—" if value is None or not math.isfinite(value) else percent(value)


def change_sentences(row: ChangeRow, unit: str, fall: float, names: tuple[str, str]) -> list[str]:
    """Say how stony coral changed, how sure that is, and how likely a decline was."""
    best, said = figure(row.best, unit, sign=True), figure(row.said, unit, sign=True)
    if best is None or said is None:
        return ["There is no figure of stony coral in both surveys."]
    corrected = row.by_readings is not None or row.by_errors is not None
    way = "as it was said"
    if corrected:
        way = "corrected by " + ("second readings" if row.by_readings else "the observers' errors")
    moved = "rose" if row.best.value > 0 else "fell"
    size = best.value.lstrip("+−")
    of = "cover" if unit == "%" else "density"
    first = (
        f"From {names[0]} to {names[1]} the {of} of stony coral {moved} by {size} "
        f"{points_word(unit)}, {way} (change {best.interval or 'without an interval'})."
    )
    told = [first]
    if best.interval and row.best.low <= 0 <= row.best.high:
        told.append("That interval holds 0: it may not have changed at all.")
    told.append(
        f"The chance that it fell by more than {100 * fall:.0f}{GAP}% of what it was is "
        f"{chance(row.decline)}."
    )
    if corrected:
        told.append(f"As it was said: {said.whole}, chance {chance(row.said_decline)}.")
    return told


@dataclass(frozen=True, slots=True)
class RowFigures:
    """Figures that stand side by side, all with the same digits."""

    said: Figure | None
    by_readings: Figure | None
    by_errors: Figure | None


def row_figures(row: SurveyRow | ChangeRow, unit: str) -> RowFigures:
    """Say the figures of a group at one place, or how it changed, to be compared."""
    spans = (row.said, row.by_readings, row.by_errors)
    digits, sign = common_digits(*spans), isinstance(row, ChangeRow)
    return RowFigures(*(figure(one, unit, sign=sign, digits=digits) for one in spans))


def change_figures(row: ChangeRow, unit: str) -> tuple[Figure | None, Figure | None]:
    """Say what there was before and after a change."""
    digits = common_digits(row.before, row.after)
    return figure(row.before, unit, digits=digits), figure(row.after, unit, digits=digits)


def decline_words(row: ChangeRow) -> str:
    """Say the chances of a decline: as it was said, and corrected where it could be."""
    found = [chance(row.said_decline)]
    if row.by_readings is not None or row.by_errors is not None:
        found.append(chance(row.decline))
    return " · ".join(found)


def largest_first(rows: Iterable[SurveyRow]) -> list[SurveyRow]:
    """Return rows of one place: all stony coral first, then the largest."""
    return sorted(rows, key=lambda row: (row.group != ALL_CORAL, -row.best.value, row.group))


def changes_first(rows: Iterable[ChangeRow]) -> list[ChangeRow]:
    """Return changes: all stony coral first, then what there was most of."""
    return sorted(
        rows,
        key=lambda row: (
            row.group != ALL_CORAL, -max(row.before.value, row.after.value), row.group,
        ),
    )  # fmt: skip


def genera_of(*tables: SurveyTable) -> frozenset[str]:
    """Return the labels of tables that are names of genera."""
    return frozenset(
        name
        for one in tables
        for name, genus in zip(one.labels, one.is_genus, strict=True)
        if genus
    )


def names_share(row: SurveyRow) -> float | None:
    """Return the share of the variance of the best figure that names cause."""
    return row.errors_share if row.by_readings is None else row.readings_share
