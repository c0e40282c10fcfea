"""A survey's report for the authority that manages the reef."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from dataclasses import asdict
from datetime import datetime

from corallum.actions.diversity_words import met_sentence
from corallum.actions.plain_words import day, percent
from corallum.actions.report_words import invented_words, made_again, plural, to_list
from corallum.actions.result_plots import KINDS
from corallum.actions.result_words import (
    change_sentences,
    doubt_sentence,
    estimate_sentence,
    group_label,
    matters_most,
    names_share,
)
from corallum.actions.survey_changes import ChangeRow, SurveyChange
from corallum.actions.survey_estimates import SurveyEstimate, SurveyRow
from corallum.actions.survey_findings import SurveyFindings, SurveyQuestion, find_all
from corallum.actions.survey_report_design import design_sections, unqualified
from corallum.actions.survey_report_results import appendix, result_sections
from corallum.actions.survey_report_trust import trust_sections, waiting_flags
from corallum.estimate.survey_table import ALL_CORAL
from corallum.report.field_sheet import place_of
from corallum.report.report import Block, Notes, Paragraph, Report, Section
from corallum.store.programme import Programme

__all__ = ["survey_report"]


def survey_report(
    programme: Programme,
    question: SurveyQuestion,
    now: datetime,
    progress: Callable[[float], None] = lambda _: None,
) -> Report:
    """Return a survey's report.

    Parameters
    ----------
    programme : Programme
        Where the survey is.
    question : SurveyQuestion
        Which one, and what to say of it.
    now : datetime
        When the report is made.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Report
        Made of what is there: a survey without slates has a report that says so.

    Raises
    ------
    InputError
        Where it can't be compared as asked.
    """
    found = find_all(programme, question, progress)
    view, settings = found.view, programme.settings
    places = ", ".join(map(place_of, settings.regions))
    when = f", {day(view.event.date)}" if view.event.date else ""
    genera: set[str] = set()
    for data in (found.estimate and found.estimate.data, found.change and found.change.before):
        if data:
            table = data.table
            genera |= {a for a, b in zip(table.labels, table.is_genus, strict=True) if b}
    return Report(
        view.event.name,
        f"Survey of stony corals{when}. {settings.name}, {places}.",
        invented_words((settings.name, view.event.name, view.plan.note)),
        (
            Section("Summary", _summary(found)),
            *_cautions(found),
            *design_sections(found),
            *result_sections(found),
            *trust_sections(found),
            made_again(programme, now, _asked(found), _command(found)),
            *appendix(found),
        ),
        f"{settings.name}. Corallum report of {day(now)}.",
        frozenset(genera),
        _facts(found, now),
    )


def _whole(found: SurveyFindings) -> SurveyRow | None:
    """Return the figure of all stony coral of the survey."""
    if found.estimate is None:
        return None
    return next((row for row in found.estimate.of("survey") if row.group == ALL_CORAL), None)


def _moved(found: SurveyFindings) -> ChangeRow | None:
    """Return the change of all stony coral."""
    if found.change is None:
        return None
    return next((row for row in found.change.rows if row.group == ALL_CORAL), None)


def _summary(found: SurveyFindings) -> tuple[Block, ...]:
    """Say what matters most, in plain sentences."""
    if found.estimate is None:
        read, planned = len(found.view.slates), len(found.view.transects)
        have = "has" if read == 1 else "have"
        done = f"{read} of {planned} planned transects {have} a slate so far."
        return (
            Paragraph(f"No figure can be given of this survey yet. {found.no_estimate}", "lead"),
            Paragraph(done),
        )
    unit, whole = found.estimate.data.unit, _whole(found)
    lead = estimate_sentence(whole, unit) if whole else "No stony coral was met."
    told = [_brackets(found.estimate) if whole else "", _effort_sentence(found)]
    moved = _moved(found)
    if moved is not None and found.change is not None:
        told += change_sentences(moved, unit, found.change.question.fall, found.names)[:3]
    if whole is not None:
        told += [doubt_sentence(names_share(whole)), _matters(found)]
    if found.diversity is not None:
        kinds = KINDS[found.diversity.by]
        told.append(met_sentence(found.diversity.richness.rechecked, kinds))
    if found.agreement is not None:
        told.append(
            f"A second reader bore out {percent(found.agreement.right)} of the names, on "
            f"{plural(found.agreement.n, 'record')} read twice."
        )
    return (Paragraph(lead, "lead"), *(Paragraph(one) for one in told if one))


def _brackets(estimate: SurveyEstimate) -> str:
    """Say what intervals hold, and what they don't."""
    what = "sites" if estimate.data.by_site else "transects"
    again = " and second readings" if "readings" not in estimate.reasons else ""
    return (
        f"Figures in brackets are intervals of {100 * estimate.question.level:.0f} %. They hold "
        f"the chance of which {what}{again} there happened to be, and no other error."
    )


def _effort_sentence(found: SurveyFindings) -> str:
    """Say how much was done."""
    sites = {one.site for one in found.view.transects if one.id in found.view.slates}
    people = {slate.observer for slate in found.slates}
    records = sum(len(slate.lines) for slate in found.slates)
    return (
        f"{plural(len(people), 'observer')} read {plural(len(found.view.slates), 'transect')} at "
        f"{plural(len(sites), 'site')}: {plural(records, 'record')} in all."
    )


def _matters(found: SurveyFindings) -> str:
    """Say in whose figures mistaken names matter most."""
    rows = () if found.estimate is None else found.estimate.of("survey")
    most = matters_most(rows)
    if not most:
        return ""
    told = to_list([f"{group_label(group)} ({percent(share)} of the variance)"
                    for group, share in most])  # fmt: skip
    return f"Names matter most for {told}."


def _cautions(found: SurveyFindings) -> tuple[Section, ...]:
    """Say what must be known before a figure is used."""
    told: list[str] = []
    missing = len(found.view.transects) - len(found.view.slates)
    if found.estimate is not None:
        told += found.estimate.notes
    if found.agreement is None and found.slates:
        told.append("No second readings: how often the names are right is not known from here.")
    people = unqualified(found)
    if people:
        have = "has" if len(people) == 1 else "have"
        told.append(
            f"{to_list(people)} {have} dived without a passed test on at least one day: records "
            "to genus of these days are not from a qualified observer."
        )
    if found.change is not None and _others(found):
        told.append(
            "Not the same people read the two surveys. What one calls by another name looks like "
            f"change{_trust(found.change)}."
        )
    waiting = waiting_flags(found)
    if waiting:
        told.append(f"{plural(waiting, 'oddity waits', 'oddities wait')} for a decision; until "
                    "then the records count as they are.")  # fmt: skip
    if missing and found.estimate is None:
        told.append(f"{missing} of {len(found.view.transects)} planned transects have no slate.")
    if not told:
        return ()
    return (Section("Before you use a figure", (Notes(tuple(dict.fromkeys(told)), "caution"),)),)


def _trust(change: SurveyChange) -> str:
    """Say which figures of a change to trust where its observers differ."""
    if change.question.errors and "errors" not in change.reasons:
        return ": trust the corrected figures"
    if "readings" not in change.reasons:
        return ": trust the corrected figures"
    return ", and nothing corrects it here: a change of one genus may be a change of observers"


def _others(found: SurveyFindings) -> bool:
    """Whether other people read the earlier survey."""
    if found.change is None:
        return False
    sides = (found.change.before, found.change.after)
    first, second = (set(one.table.observers) for one in sides)
    return first != second


def _asked(found: SurveyFindings) -> tuple[tuple[str, str], ...]:
    """Return what was asked, for who wants to ask it again."""
    one = found.question
    rows = [
        ("Survey", f"{found.view.event.name} ({one.survey})"),
        ("Figures by", one.by),
        ("Corrected by observers' errors too", "yes" if one.errors else "no"),
        ("Resamples", f"{one.draws:,}"),
        ("Seed", str(one.seed)),
    ]
    if found.change is not None:
        rows.insert(2, ("A decline", f"a fall by more than {100 * one.fall:g} %"))
        rows.insert(1, ("Against", f"{found.names[0]} ({found.change.question.before})"))
    return tuple(rows)


def _command(found: SurveyFindings) -> str:
    """Return the command that makes this report."""
    one = found.question
    parts = ["corallum report FOLDER --survey", shlex.quote(found.view.event.name)]
    if one.against is not None:
        parts += ["--against", shlex.quote(found.names[0])]
    if one.by != "genus":
        parts += ["--by", one.by]
    if found.change is not None:
        parts.append(f"--fall {one.fall:g}")
    if one.errors:
        parts.append("--errors")
    return " ".join([*parts, f"--draws {one.draws} --seed {one.seed} --out report.pdf"])


def _facts(found: SurveyFindings, now: datetime) -> dict[str, object]:
    """Return the same figures for a program."""
    estimate, change = found.estimate, found.change
    return {
        "kind": "survey",
        "survey": {"id": found.question.survey, "name": found.view.event.name},
        "made": now.isoformat(),
        "question": asdict(found.question),
        "unit": None if estimate is None else estimate.data.unit,
        "no_estimate": found.no_estimate or None,
        "figures": [] if estimate is None else [asdict(row) for row in estimate.rows],
        "missing": {} if estimate is None else dict(estimate.reasons),
        "notes": [] if estimate is None else list(estimate.notes),
        "change": [] if change is None else [asdict(row) for row in change.rows],
        "not_qualified": list(unqualified(found)),
        "flags_waiting": waiting_flags(found),
        "not_separable_in_water": [asdict(one) for one in found.pairs],
    }
