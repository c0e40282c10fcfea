"""Surveys for people, and as objects for machines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rich.console import Console
from rich.text import Text

from corallum.actions.import_survey import ArchiveFound
from corallum.actions.survey_changes import ChangeRow, SurveyChange
from corallum.actions.survey_effort import EffortAnswer
from corallum.actions.survey_estimates import Span, SurveyEstimate, SurveyRow
from corallum.actions.survey_flags import FlagLine
from corallum.actions.survey_import import ImportFound
from corallum.actions.survey_plans import SurveyCard, SurveyView
from corallum.cli.practice_page import table_of
from corallum.exchange.survey_tables import Columns, columns_to_object
from corallum.records.survey_checks import RULES

__all__ = [
    "archive_object", "cards_object", "change_object", "effort_object", "estimate_object",
    "flags_object", "import_object", "print_archive", "print_cards", "print_change",
    "print_effort", "print_estimate", "print_flags", "print_import", "print_view",
    "view_object",
]  # fmt: skip

_MOST_ROWS = 200


def _words(text: str) -> str:
    return text.replace("_", " ")


def _number(value: float | None) -> float | None:
    """Return a number that JSON can hold."""
    return None if value is None or not math.isfinite(value) else value


def _span_object(span: Span | None) -> dict[str, float | None] | None:
    if span is None:
        return None
    return {"value": _number(span.value), "low": _number(span.low), "high": _number(span.high),
            "se": _number(span.se)}  # fmt: skip


def _span(span: Span | None) -> str:
    """Write a figure with its interval."""
    if span is None:
        return "-"
    if math.isnan(span.low):
        return f"{span.value:.2f}"
    high = f"{span.high:.2f}" if span.high < 1e4 else "no end"
    return f"{span.value:.2f} ({span.low:.2f} to {high})"


def _share(share: float | None) -> str:
    return "-" if share is None else f"{share:.0%}"


def cards_object(cards: Sequence[SurveyCard]) -> list[dict[str, Any]]:
    """Turn planned surveys into objects."""
    return [
        {"id": one.event.id, "name": one.event.name, "method": one.plan.method.value,
         "date": one.event.date.isoformat() if one.event.date else None,
         "transects": one.transects, "with_slates": one.done}
        for one in cards
    ]  # fmt: skip


def print_cards(cards: Sequence[SurveyCard]) -> None:
    """List planned surveys."""
    if not cards:
        print("No survey is planned yet. Plan one: corallum survey plan --help")
        return
    table = table_of("survey", "method", "date", "transects", "with slates")
    for one in cards:
        day = one.event.date.isoformat() if one.event.date else ""
        table.add_row(Text(one.event.name), _words(one.plan.method), day, str(one.transects),
                      str(one.done))  # fmt: skip
    Console(highlight=False).print(table)


def view_object(view: SurveyView) -> dict[str, Any]:
    """Turn a plan into an object."""
    return {
        "id": view.event.id, "name": view.event.name, "method": view.plan.method.value,
        "strata": [
            {"name": one.name, "area": one.area, "sites": [view.sites[s].name for s in one.sites]}
            for one in view.plan.strata
        ],
        "effort": {k: v for k, v in asdict(view.plan.effort).items() if v is not None},
        "transects": [
            {"id": one.id, "site": view.sites[one.site or ""].name, "name": one.name}
            for one in view.transects
        ],
    }  # fmt: skip


def print_view(view: SurveyView) -> None:
    """Print what was planned."""
    n = len(view.transects)
    print(f"{view.event.name}: {_words(view.plan.method)}, {n} transects laid out.")
    table = table_of("stratum", "area", "site", "transects")
    for one in view.plan.strata:
        for site in one.sites:
            laid = sum(transect.site == site for transect in view.transects)
            name = Text(view.sites[site].name)
            table.add_row(Text(one.name), f"{one.area:g}", name, str(laid))
    Console(highlight=False).print(table)
    print("The dive supervisor decides on every dive; data come second.")


def effort_object(found: EffortAnswer) -> dict[str, Any]:
    """Turn what the next survey takes into an object."""
    return {
        "unit": found.unit, "pilot_value": found.value, "transects": found.transects,
        "why_not": found.why or None, "half_width": found.half_width,
        "detectable_change": found.detectable,
        "variance": {"transects": found.parts.transects, "points": found.parts.points,
                     "observers": found.parts.observers,
                     "identification": found.parts.identification},
        "notes": list(found.notes),
        "lines": [{"label": one.label, "transects": list(one.x), "half_width": list(one.y)}
                  for one in found.lines],
    }  # fmt: skip


def print_effort(found: EffortAnswer) -> None:
    """Print what the next survey takes."""
    unit = "percent points" if found.unit == "%" else found.unit
    console = Console(highlight=False)
    if found.transects is not None:
        told = f"{math.ceil(found.transects - 1e-9)} transects reach what you ask for."
        console.print(Text(told, style="bold"))
    elif found.why:
        console.print(Text(f"No number of transects will do. {found.why}"))
    print(f"The pilot found {found.value:.2f} {found.unit}. {found.planned.transects:g} transects "
          f"give plus or minus {found.half_width:.2f} {unit}, and show a change of "
          f"{found.detectable:.2f} {unit} between two such surveys.")  # fmt: skip
    table = table_of("part of the variance", "share")
    total = found.parts.total or 1.0
    for name in ("transects", "points", "observers", "identification"):
        table.add_row(name, f"{getattr(found.parts, name) / total:.0%}")
    console.print(table)
    table = table_of("plan", *(f"{n:g} transects" for n in found.lines[0].x[::8]))
    for line in found.lines:
        table.add_row(line.label, *(f"± {y:.2f}" for y in line.y[::8]))
    console.print(table)
    for note in found.notes:
        console.print(Text(note, style="dim"))


def import_object(found: ImportFound, columns: Columns, *, written: bool) -> dict[str, Any]:
    """Turn what a table holds into an object."""
    return {
        "written": written, "slates": len(found.slates),
        "lines": sum(len(one.lines) for one in found.slates),
        "new_transects": found.new_transects, "columns": columns_to_object(columns),
        "names": {said: {"means": label, "times": n} for said, (label, n) in found.names.items()},
    }  # fmt: skip


def print_import(found: ImportFound, columns: Columns, *, written: bool) -> None:
    """Print what a table holds, and whether it was written."""
    lines = sum(len(one.lines) for one in found.slates)
    what = f"{len(found.slates)} slates, {lines} lines"
    print(f"{what}: {'written' if written else 'looked at, nothing written'}.")
    if found.new_transects:
        print(f"{found.new_transects} transects were not in the plan, and belong to it now."
              if written else f"{found.new_transects} transects are not in the plan.")  # fmt: skip
    console = Console(highlight=False)
    table = table_of("column", "holds")
    for role, header in columns.roles.items():
        table.add_row(Text(header), _words(role))
    console.print(table)
    changed = {said: one for said, one in found.names.items() if one[0] != said}
    if changed:
        table = table_of("written", "taken for", "times")
        for said, (label, n) in sorted(changed.items(), key=lambda one: -one[1][1])[:_MOST_ROWS]:
            table.add_row(Text(said), Text(label), str(n))
        console.print(table)


def archive_object(found: ArchiveFound, *, written: bool) -> dict[str, Any]:
    """Turn what an archive holds into an object."""
    one = found.survey
    return {
        "written": written, "survey": found.name, "id": one.id, "slates": len(one.slates),
        "lines": found.lines, "transects": len(one.transects), "readings": len(one.readings),
        "decisions": len(one.answers), "new_sites": list(found.new_sites),
        "altered": list(found.survey.altered),
    }  # fmt: skip


def print_archive(found: ArchiveFound, *, written: bool) -> None:
    """Print what an archive holds, and whether it was written."""
    one = found.survey
    print(
        f"{found.name}: {len(one.slates)} slates, {found.lines} lines, {len(one.readings)} second "
        f"readings: {'written' if written else 'looked at, nothing written'}."
    )
    if found.survey.altered:
        print(f"Not as it was written, so somebody edited it: {', '.join(found.survey.altered)}.")
    if found.new_sites:
        were = "were not here, and belong to the programme now" if written else "are not here yet"
        print(f"Sites that {were}: {', '.join(found.new_sites)}.")


def flags_object(found: Sequence[FlagLine], view: SurveyView) -> list[dict[str, Any]]:
    """Turn flags into objects."""
    names = {one.id: one for one in view.transects}
    return [
        {"slate": one.flag.slate, "line": one.flag.line, "rule": one.flag.rule,
         "site": view.sites[names[one.slate.transect].site or ""].name,
         "transect": names[one.slate.transect].name, "expected": one.flag.expected,
         "found": one.flag.found, "remedy": one.flag.remedy,
         "decision": one.answer.decision.value if one.answer else None,
         "decided_by": view.people[one.answer.person].name if one.answer else None}
        for one in found
    ]  # fmt: skip


def print_flags(found: Sequence[FlagLine], view: SurveyView) -> None:
    """Print flags that wait, and count those that were decided."""
    waiting = [one for one in found if one.answer is None]
    slates = sum(len(one) for one in view.slates.values())
    flags = "1 flag waits" if len(waiting) == 1 else f"{len(waiting)} flags wait"
    print(f"{view.event.name}: {slates} slates, {flags}, {len(found) - len(waiting)} decided.")
    if not waiting:
        return
    names = {one.id: one for one in view.transects}
    table = table_of("where", "what", "expected", "found", "do")
    for one in waiting[:_MOST_ROWS]:
        transect = names[one.slate.transect]
        line = "" if one.flag.line is None else f", line {one.flag.line}"
        site = view.sites[transect.site or ""].name
        where = f"slate {one.flag.slate}{line} ({site}, {transect.name})"
        table.add_row(Text(where), RULES[one.flag.rule], Text(one.flag.expected),
                      Text(one.flag.found), Text(one.flag.remedy))  # fmt: skip
    Console(highlight=False).print(table)
    if len(waiting) > _MOST_ROWS:
        print(f"{len(waiting) - _MOST_ROWS} more: --json lists all.")


def estimate_object(found: SurveyEstimate) -> dict[str, Any]:
    """Turn figures into an object."""
    return {
        "unit": found.data.unit, "by": found.question.by, "level": found.question.level,
        "rows": [_row_object(row) for row in found.rows],
        "no_correction": dict(found.reasons), "notes": list(found.notes),
    }  # fmt: skip


def _row_object(row: SurveyRow) -> dict[str, Any]:
    return {
        "level": row.level, "place": row.name, "group": row.group, "records": row.lines,
        "transects": row.transects, "said": _span_object(row.said),
        "by_readings": _span_object(row.by_readings), "by_errors": _span_object(row.by_errors),
        "readings_share_of_variance": _number(row.readings_share),
        "errors_share_of_variance": _number(row.errors_share),
    }  # fmt: skip


def print_estimate(found: SurveyEstimate) -> None:
    """Print figures as said and corrected, side by side."""
    console = Console(highlight=False)
    unit = found.data.unit
    several = len({row.place for row in found.rows}) > 1
    heads = ["place"] if several else []
    table = table_of(*heads, found.question.by, "records", f"as said, {unit}", "by second readings",
                     "by observers' errors", "doubt that names cause")  # fmt: skip
    for row in found.rows[:_MOST_ROWS]:
        share = row.readings_share if row.readings_share is not None else row.errors_share
        place = [Text(row.name)] if several else []
        table.add_row(*place, Text(row.group), str(row.lines), _span(row.said),
                      _span(row.by_readings), _span(row.by_errors), _share(share))  # fmt: skip
    console.print(table)
    if len(found.rows) > _MOST_ROWS:
        print(f"{len(found.rows) - _MOST_ROWS} more: --out and --json hold all.")
    print(f"Intervals hold the figure {found.question.level:.0%} of the time. The last column is "
          "the share of the corrected figure's variance that more second readings could take "
          "away.")  # fmt: skip
    _print_notes(console, found.reasons, found.notes)


def _print_notes(console: Console, reasons: Any, notes: Sequence[str]) -> None:  # noqa: ANN401  a mapping
    """Print why there is no correction, and what to know."""
    ways = {"readings": "No correction by second readings", "errors": "None by observers' errors"}
    for way, why in reasons.items():
        console.print(Text(f"{ways[way]}. {why}"))
    for note in notes:
        console.print(Text(note, style="dim"))


def change_object(found: SurveyChange) -> dict[str, Any]:
    """Turn change into an object."""
    return {
        "unit": found.before.unit, "paired": found.paired, "fall": found.question.fall,
        "rows": [_change_object(row) for row in found.rows],
        "impact_less_control": {name: _span_object(one) for name, one in found.contrast.items()},
        "no_correction": dict(found.reasons), "notes": list(found.notes),
    }  # fmt: skip


def _change_object(row: ChangeRow) -> dict[str, Any]:
    return {
        "group": row.group, "before": _span_object(row.before), "after": _span_object(row.after),
        "said": _span_object(row.said), "by_readings": _span_object(row.by_readings),
        "by_errors": _span_object(row.by_errors),
        "chance_of_decline": {"said": _number(row.said_decline),
                              "by_readings": _number(row.readings_decline),
                              "by_errors": _number(row.errors_decline)},
    }  # fmt: skip


def print_change(found: SurveyChange) -> None:
    """Print change as said and corrected."""
    console = Console(highlight=False)
    unit = "percent points" if found.before.unit == "%" else found.before.unit
    how = "the same transects in both" if found.paired else "different transects"
    print(f"Change in {unit}, {how}.")
    fall = f"chance of a fall by over {found.question.fall:.0%}"
    table = table_of("group", "before", "after", "as said", "by second readings",
                     "by observers' errors", fall)  # fmt: skip
    for row in found.rows[:_MOST_ROWS]:
        chance = "-" if math.isnan(row.decline) else f"{row.decline:.0%}"
        spans = (_span(one) for one in (row.said, row.by_readings, row.by_errors))
        ends = (f"{row.before.value:.2f}", f"{row.after.value:.2f}")
        table.add_row(Text(row.group), *ends, *spans, chance)
    console.print(table)
    if found.contrast:
        table = table_of("group", "impact sites less controls")
        for name, one in found.contrast.items():
            table.add_row(Text(name), _span(one))
        console.print(table)
    _print_notes(console, found.reasons, found.notes)
