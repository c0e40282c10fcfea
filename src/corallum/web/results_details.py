"""What else a survey tells: the records behind a figure, and the sizes of colonies."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.people import list_people
from corallum.actions.places import get_site
from corallum.actions.record_readings import waiting_records
from corallum.actions.result_plots import draw_sizes
from corallum.actions.result_words import group_label
from corallum.actions.size_words import class_lines, half_sentence, juvenile_sentence, mean_sentence
from corallum.actions.survey_details import (
    BehindLine,
    records_behind,
    sizes_of,
)
from corallum.actions.survey_tables import survey_data
from corallum.errors import InputError
from corallum.records.survey import Line
from corallum.web.forms import optional_number
from corallum.web.results import address, survey_name
from corallum.web.results_kept import kept
from corallum.web.visit import Visit, Visited

__all__ = ["router", "where_words"]

router = APIRouter()

Short = Annotated[str, Query(max_length=200)]
_PAGE, _MOST = 50, 100_000


def where_words(line: Line) -> str:
    """Say where on its transect a record is, and how large it was."""
    told = []
    if line.from_cm is not None and line.to_cm is not None:
        told.append(f"{line.from_cm:g} to {line.to_cm:g} cm")
    elif line.from_cm is not None:
        told.append(f"at {line.from_cm:g} cm")
    if line.frame is not None:
        told.append(f"frame {line.frame}")
    if line.point is not None:
        told.append(f"point {line.point}")
    if line.diameter_cm is not None:
        told.append(f"{line.diameter_cm:g} cm across")
    if line.cover_percent is not None:
        told.append(f"{line.cover_percent:g} %")
    if line.count > 1:
        told.append(f"{line.count} colonies")
    return ", ".join(told)


def _behind(visit: Visit, survey: str, group: str, by: str, site: str) -> tuple[BehindLine, ...]:
    """Return all records behind a figure, or what was found before."""

    def look() -> tuple[BehindLine, ...]:
        return records_behind(
            visit.programme, survey, group or None, by=by, site=site or None, most=_MOST
        )

    return kept(visit, ("behind", survey, group, by, site), look)


def _again(one: BehindLine) -> bool:
    """Whether a record was read a second time."""
    return one.reading is not None


def _otherwise(one: BehindLine) -> bool:
    """Whether the second reader found something else than was said."""
    return one.reading is not None and one.reading.label != one.line.label


def _pictured(one: BehindLine) -> bool:
    """Whether a photo shows it."""
    return one.line.photo is not None


_ONLY = {"photo": _pictured, "again": _again, "otherwise": _otherwise}
_PARTS = {"photo": "With a photo", "again": "Read again", "otherwise": "Not as said"}


@router.get("/results/{survey}/behind")
def behind(  # noqa: PLR0913, PLR0917  one for each part of the address
    visit: Visited,
    survey: str,
    group: Short = "",
    by: Short = "genus",
    site: Short = "",
    only: Short = "",
    page: Short = "1",
) -> Response:
    """Show the records behind a figure, all of them or only some."""
    name = survey_name(visit, survey)
    place = get_site(visit.programme, site).name if site else ""
    every = _behind(visit, survey, group.strip(), by, site)
    found = [one for one in every if _ONLY[only](one)] if only in _ONLY else every
    pages = max(1, -(-len(found) // _PAGE))
    wanted = optional_number(page, "page") or 1
    at = int(min(max(wanted, 1), pages))
    asked = {"group": group, "by": by if by != "genus" else "", "site": site}
    path = address(f"/results/{survey}/behind", **asked)
    more = address(f"/results/{survey}/behind", **asked, only=only)
    return visit.page(
        "results_behind.html",
        survey=survey, name=name, place=place, site=site, group=group,
        label=group_label(group) if group else "All records",
        rows=found[(at - 1) * _PAGE : at * _PAGE], total=len(found), page=at, pages=pages,
        url=f"{more}{'&' if '?' in more else '?'}", only=only, every=len(every),
        parts=[(path, "", "All")] + [
            (address(f"/results/{survey}/behind", **asked, only=one), one, text)
            for one, text in _PARTS.items()
        ],
        read_again=sum(map(_again, every)), otherwise=sum(map(_otherwise, every)),
        people={one.id: one.name for one in list_people(visit.programme)},
        sites=_site_names(visit, survey),
        where=where_words, waits=len(waiting_records(visit.programme, survey, visit.person.id)),
    )  # fmt: skip


def _site_names(visit: Visit, survey: str) -> dict[str, str]:
    """Return the names of a survey's sites by id; none where nothing can be estimated."""
    try:
        data = kept(visit, ("data", survey), lambda: survey_data(visit.programme, survey))
    except InputError:
        return {}
    return dict(data.site_names)


@router.get("/results/{survey}/sizes")
def sizes(visit: Visited, survey: str, group: Short = "") -> Response:
    """Show the sizes of colonies, of one genus or of all."""
    name = survey_name(visit, survey)
    data = kept(visit, ("data", survey), lambda: survey_data(visit.programme, survey))
    table = data.table
    labels = [one for one, coral in zip(table.labels, table.is_coral, strict=True) if coral]
    wanted = group.strip()
    why, found = "", None
    try:
        found = kept(
            visit, ("sizes", survey, wanted),
            lambda: sizes_of(visit.programme, survey, wanted or None),
        )  # fmt: skip
    except InputError as error:
        why = str(error)
    return visit.page(
        "results_sizes.html",
        survey=survey, name=name, group=wanted, labels=labels, found=found, why=why,
        genera={one for one, genus in zip(table.labels, table.is_genus, strict=True) if genus},
        classes=[] if found is None else class_lines(found.structure.classes),
        plot=None if found is None else draw_sizes(found),
        told=() if found is None
        else (half_sentence(found), juvenile_sentence(found), mean_sentence(found)),
    )  # fmt: skip
