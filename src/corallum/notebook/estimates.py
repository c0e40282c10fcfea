"""What a survey says of the reef, and what changed: as said and corrected, side by side."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any

from corallum.actions.result_plots import change_rows, estimate_rows
from corallum.actions.result_words import group_label, points_word, unit_words
from corallum.actions.survey_changes import ChangeRow, SurveyChange
from corallum.actions.survey_estimates import Span, SurveyEstimate, SurveyRow
from corallum.draw.plots import plot_changes, plot_pairs
from corallum.estimate.survey_table import ALL_CORAL
from corallum.notebook.listing import Field, Listing, Shown, chance, figure, listing
from corallum.notebook.plot import Plot

__all__ = ["Change", "Estimate"]

_WAYS = {"readings": "No correction by second readings", "errors": "None by observers' errors"}


def _span(head: str, id_: str, *, is_extra: bool = False) -> Field:
    """Return a column of figures with their intervals; four columns of the data frame."""

    def take(part: str) -> Callable[[Any], float | None]:
        def taken(row: object) -> float | None:
            span: Span | None = getattr(row, id_)
            value = None if span is None else getattr(span, part)
            return None if value is None or math.isnan(value) else float(value)

        return taken

    def show(row: object) -> str:
        span: Span | None = getattr(row, id_)
        return "–" if span is None else figure(span.value, span.low, span.high)

    values = {id_: take("value"), **{f"{id_}_{part}": take(part) for part in ("low", "high", "se")}}
    return Field(head, values, show, is_number=True, is_extra=is_extra)


def _corrected(rows: Sequence[SurveyRow | ChangeRow]) -> list[Field]:
    """Return the columns of corrected figures; a way that gave none is not shown."""
    heads = {"by_readings": "by second readings", "by_errors": "by observers' errors"}
    return [
        _span(head if any(getattr(row, id_) for row in rows) else "", id_)
        for id_, head in heads.items()
    ]


def _group(kind: str, genera: Collection[str]) -> Field:
    """Return the column of genera, families or forms."""
    return Field(kind, {"group": lambda r: r.group}, lambda r: group_label(r.group),
                 is_genus=kind == "genus" and bool(genera))  # fmt: skip


def _reasons(reasons: Mapping[str, str], notes: Sequence[str]) -> tuple[str, ...]:
    """Say why there is no correction, and what to know."""
    return (*(f"{_WAYS[way]}. {why}" for way, why in reasons.items()), *notes)


class Estimate(Shown):
    """Figures of a survey, as said and corrected for wrong names.

    Parameters
    ----------
    record : SurveyEstimate
        As ``corallum.actions.survey_estimates`` defines it.
    name : str
        Of the survey.
    genera : collection of str
        Names that are genera.
    """

    def __init__(self, record: SurveyEstimate, name: str, genera: Collection[str]) -> None:
        self.record, self.name, self.genera = record, name, genera

    @property
    def unit(self) -> str:
        """Unit of the figures: "%" of the bottom, or "colonies per m2"."""
        return self.record.data.unit

    @property
    def is_corrected(self) -> bool:
        """Whether any figure is corrected for wrong names."""
        return any(row.by_readings or row.by_errors for row in self.record.rows)

    @property
    def lead(self) -> str:
        """What is estimated of which survey."""
        what = "Cover" if self.unit == "%" else "Density"
        return f"{what} by {self.record.question.by}, {unit_words(self.unit)}: {self.name}."

    @property
    def notes(self) -> tuple[str, ...]:
        """What intervals mean, why there is no correction, and what to know."""
        level = self.record.question.level
        told = (
            f"Intervals hold the figure {level:.0%} of the time. The last column is the share of "
            "the corrected figure's variance that more second readings could take away."
        )
        return told, *_reasons(self.record.reasons, self.record.notes)

    def listings(self) -> Sequence[Listing]:
        """Return the figures."""
        rows = self.record.rows
        several = len({row.place for row in rows}) > 1
        place = Field(
            "place" if several else "",
            {"level": lambda r: r.level, "place": lambda r: r.name},
            lambda r: r.name,
        )
        kind = self.record.question.by
        fields = [
            place, _group(kind, self.genera),
            Field("records", {"records": lambda r: r.lines, "transects": lambda r: r.transects},
                  lambda r: str(r.lines), is_number=True),
            _span("as said", "said"), *_corrected(rows),
            Field("doubt that names cause", {"readings_share": lambda r: r.readings_share,
                                             "errors_share": lambda r: r.errors_share},
                  lambda r: chance(r.errors_share if r.readings_share is None
                                   else r.readings_share), is_number=True),
        ]  # fmt: skip
        return [listing("Figures, as said and corrected", fields, rows)]

    def plot(self, place: str | None = None) -> Plot:
        """Draw each group as it was said beside its corrected figure.

        Parameters
        ----------
        place : str or None
            Which stratum or site; None is the first place there is.

        Returns
        -------
        Plot
            Two intervals a row: open as said, filled as corrected.
        """
        rows = self.record.rows
        wanted = rows[0].name if place is None and rows else place
        shown = [row for row in rows if wanted in (row.name, row.place)]
        shown.sort(key=lambda row: (row.group != ALL_CORAL, -row.best.value, row.group))
        drawn = estimate_rows(shown, self.unit, self.genera)
        what = "Cover" if self.unit == "%" else "Density"
        return Plot(lambda width: plot_pairs(drawn, unit_words(self.unit), width, what=what))


class Change(Shown):
    """What changed between two surveys, as said and corrected for wrong names.

    Parameters
    ----------
    record : SurveyChange
        As ``corallum.actions.survey_changes`` defines it.
    names : (str, str)
        Of the survey before and after.
    genera : collection of str
        Names that are genera.
    """

    def __init__(
        self, record: SurveyChange, names: tuple[str, str], genera: Collection[str]
    ) -> None:
        self.record, self.names, self.genera = record, names, genera

    @property
    def unit(self) -> str:
        """Unit of the figures: "%" of the bottom, or "colonies per m2"."""
        return self.record.before.unit

    @property
    def is_corrected(self) -> bool:
        """Whether any figure is corrected for wrong names."""
        return any(row.by_readings or row.by_errors for row in self.record.rows)

    @property
    def lead(self) -> str:
        """Which surveys, and whether the same transects were read."""
        how = "the same transects in both" if self.record.paired else "different transects"
        return f"Change in {points_word(self.unit)} from {self.names[0]} to {self.names[1]}; {how}."

    @property
    def notes(self) -> tuple[str, ...]:
        """Why there is no correction, and what to know."""
        return _reasons(self.record.reasons, self.record.notes)

    def listings(self) -> Sequence[Listing]:
        """Return the differences, and what impact sites changed more than controls."""
        fall = self.record.question.fall
        fields = [
            _group(self.record.question.by, self.genera),
            _span("before", "before", is_extra=True), _span("after", "after", is_extra=True),
            _span("change as said", "said"), *_corrected(self.record.rows),
            Field(f"chance of a fall by over {fall:.0%}",
                  {"decline_said": lambda r: r.said_decline,
                   "decline_by_readings": lambda r: r.readings_decline,
                   "decline_by_errors": lambda r: r.errors_decline},
                  lambda r: chance(r.decline), is_number=True),
        ]  # fmt: skip
        found = [listing("Change, as said and corrected", fields, self.record.rows)]
        return [*found, self.contrast()] if self.record.contrast else found

    def contrast(self) -> Listing:
        """List how much more the impact sites changed than the others.

        Returns
        -------
        Listing
            Empty where no impact was asked for.
        """
        fields = (
            Field("group", {"group": lambda c: c[0]}, lambda c: group_label(c[0])),
            Field("impact sites less controls",
                  {"value": lambda c: c[1].value, "low": lambda c: c[1].low,
                   "high": lambda c: c[1].high},
                  lambda c: figure(c[1].value, c[1].low, c[1].high), is_number=True),
        )  # fmt: skip
        return listing("Impact sites less controls", fields, self.record.contrast.items())

    def plot(self) -> Plot:
        """Draw each group's change as it was said beside the corrected one.

        Returns
        -------
        Plot
            Two intervals a row around 0: open as said, filled as corrected.
        """
        rows = sorted(
            self.record.rows,
            key=lambda r: (r.group != ALL_CORAL, -max(r.before.value, r.after.value), r.group),
        )
        drawn = change_rows(rows, self.unit, self.genera)
        what = "Change in cover" if self.unit == "%" else "Change in density"
        return Plot(lambda width: plot_changes(drawn, points_word(self.unit), width, what=what))
