"""Change between two surveys: as it was said, and with mistaken names put right."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.result_plots import draw_change
from corallum.actions.result_words import (
    Figure,
    change_figures,
    change_sentences,
    changes_first,
    decline_words,
    figure,
    genera_of,
    group_label,
    points_word,
    row_figures,
    unit_words,
)
from corallum.actions.survey_changes import (
    ChangeQuestion,
    ChangeRow,
    SurveyChange,
    change_between,
)
from corallum.actions.survey_csv import change_csv
from corallum.actions.survey_plans import list_surveys
from corallum.errors import Fault, InputError
from corallum.estimate.survey_table import ALL_CORAL
from corallum.web.forms import optional_number
from corallum.web.results import address, survey_name
from corallum.web.results_files import csv_response, file_name, svg_response
from corallum.web.results_kept import kept
from corallum.web.visit import Visit, Visited

__all__ = ["ChangeLine", "router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
Sites = Annotated[list[str], Query(max_length=200)]
_FALL = 0.2
_FEWEST = 2
_WAYS = ("genus", "family")


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A row of the table of changes."""

    label: str
    italic: bool
    href_before: str
    href_after: str
    before: Figure | None
    after: Figure | None
    said: Figure | None
    by_readings: Figure | None
    by_errors: Figure | None
    declines: str
    contrast: Figure | None


def _question(  # noqa: PLR0913, PLR0917  one for each field of the form
    visit: Visit, before: str, after: str, by: str, fall: str, errors: str, impact: list[str]
) -> tuple[ChangeQuestion, tuple[str, str]]:
    """Read what is asked, and the names of both surveys."""
    names = survey_name(visit, before), survey_name(visit, after)
    if before == after:
        remedy = "Choose another survey to compare with."
        raise InputError([Fault("change", "after", "another survey", names[1], remedy)])
    percent = optional_number(fall, "decline")
    share = _FALL if percent is None else percent / 100
    if not 0 <= share < 1:
        remedy = "Write 20 for a fifth."
        raise InputError([Fault("change", "decline", "0 to 99 percent", fall, remedy)])
    if by not in _WAYS:
        raise InputError([Fault("change", "by", "genus or family", by, "Choose one.")])
    chosen = tuple(sorted({one for one in impact if one}))
    return ChangeQuestion(before, after, by, share, errors == "1", chosen), names


def _reckoned(visit: Visit, question: ChangeQuestion) -> SurveyChange:
    """Reckon a change, or return what was reckoned before.

    Raises
    ------
    InputError
        Where there are too few sites for a contrast, among others.
    """
    if question.impact:
        plain = _reckoned(visit, replace(question, impact=()))
        common = {site for site, _ in _common_sites(plain)}
        inside = len(common & set(question.impact))
        if min(inside, len(common) - inside) < _FEWEST:
            found = f"{inside} and {len(common) - inside}"
            remedy = "Choose other sites, or none for no contrast."
            expected = f"{_FEWEST} impact sites and {_FEWEST} others, read in both surveys"
            raise InputError([Fault("change", "impact sites", expected, found, remedy)])
    return kept(visit, question, lambda: change_between(visit.programme, question))


def _report(question: ChangeQuestion, fall: str, form: str) -> str:
    """Return where the report of the later survey is, with the same change in it."""
    return address(
        f"/results/{question.after}/report.{form}", by=question.by, against=question.before,
        fall=fall, errors="1" if question.errors else "",
    )  # fmt: skip


@router.get("/results/change")
def change(  # noqa: PLR0913, PLR0917  one for each field of the form
    visit: Visited,
    before: Short = "",
    after: Short = "",
    by: Short = "genus",
    fall: Short = "20",
    errors: Short = "0",
    impact: Sites = [],  # noqa: B006  copied by the framework
) -> Response:
    """Show what changed from one survey to another."""
    question, names = _question(visit, before, after, by, fall, errors, impact)
    found = _reckoned(visit, question)
    rows = changes_first(found.rows)
    whole = next((row for row in rows if row.group == ALL_CORAL), None)
    unit = found.before.unit
    genera = genera_of(found.before.table, found.after.table)
    sites = _common_sites(found)
    asked = _query(question, fall)
    told = change_sentences(whole, unit, question.fall, names) if whole else []
    return visit.page(
        "results_change.html",
        found=found, question=question, names=names, unit=unit, fall=fall, ways=_WAYS,
        told=told, changed_observers=_changed(found), sites=sites,
        rows=[_line(row, found, genera) for row in rows],
        plot=draw_change(rows, unit, genera),
        contrast=figure(found.contrast.get(ALL_CORAL), unit, sign=True),
        units=unit_words(unit), moved=points_word(unit),
        surveys=[card for card in list_surveys(visit.programme) if card.done],
        report_pdf=_report(question, fall, "pdf"), report_page=_report(question, fall, "html"),
        csv=f"/results/change.csv?{asked}", svg=f"/results/change.svg?{asked}",
        with_errors=f"/results/change?{_query(question, fall, errors='1')}",
    )  # fmt: skip


@router.get("/results/change.csv")
def change_table(  # noqa: PLR0913, PLR0917  as the page
    visit: Visited,
    before: Short = "",
    after: Short = "",
    by: Short = "genus",
    fall: Short = "20",
    errors: Short = "0",
    impact: Sites = [],  # noqa: B006  copied by the framework
) -> Response:
    """Hand out the changes as a table."""
    question, names = _question(visit, before, after, by, fall, errors, impact)
    found = _reckoned(visit, question)
    return csv_response(change_csv(found), file_name("change", *names))


@router.get("/results/change.svg")
def change_plot(  # noqa: PLR0913, PLR0917  as the page
    visit: Visited,
    before: Short = "",
    after: Short = "",
    by: Short = "genus",
    fall: Short = "20",
    errors: Short = "0",
    impact: Sites = [],  # noqa: B006  copied by the framework
) -> Response:
    """Hand out the plot of changes as a picture of its own."""
    question, names = _question(visit, before, after, by, fall, errors, impact)
    found = _reckoned(visit, question)
    drawn = draw_change(
        changes_first(found.rows),
        found.before.unit,
        genera_of(found.before.table, found.after.table),
    )
    return svg_response(drawn, file_name("change", *names))


def _query(question: ChangeQuestion, fall: str, errors: str = "") -> str:
    """Write a question as it stands in an address."""
    asked = {
        "before": question.before, "after": question.after, "by": question.by, "fall": fall,
        "errors": errors or ("1" if question.errors else ""),
    }  # fmt: skip
    base = address("", **asked).removeprefix("?")
    return "&".join([base, *(address("", impact=one).removeprefix("?") for one in question.impact)])


def _common_sites(found: SurveyChange) -> list[tuple[str, str]]:
    """Return the sites that both surveys read, by name."""
    read = [
        {one.table.sites[i] for i in one.table.site.tolist()} for one in (found.before, found.after)
    ]
    names = found.after.site_names
    return sorted(((one, names.get(one, one)) for one in read[0] & read[1]), key=lambda x: x[1])


def _changed(found: SurveyChange) -> bool:
    """Whether other people read the two surveys."""
    return set(found.before.table.observers) != set(found.after.table.observers)


def _line(row: ChangeRow, found: SurveyChange, genera: frozenset[str]) -> ChangeLine:
    """Return a row as the table shows it, its figures leading to the records behind them."""
    unit, question = found.before.unit, found.question

    def behind(survey: str) -> str:
        return address(f"/results/{survey}/behind", group=row.group, by=question.by)

    before, after = change_figures(row, unit)
    moved = row_figures(row, unit)
    return ChangeLine(
        group_label(row.group), row.group in genera,
        behind(question.before), behind(question.after),
        before, after, moved.said, moved.by_readings, moved.by_errors, decline_words(row),
        figure(found.contrast.get(row.group), unit, sign=True),
    )  # fmt: skip
