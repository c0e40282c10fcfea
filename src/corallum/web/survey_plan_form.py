"""The form of a new survey: what was typed, read with every fault at once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Annotated

from pydantic import BaseModel, Field

from corallum.actions.survey_plans import PlanSurvey, SurveyView, check_effort
from corallum.errors import Fault, InputError
from corallum.records.programme import Site
from corallum.records.survey import Effort, Method, Stratum
from corallum.web.colony import read_day
from corallum.web.forms import optional_number, optional_text

__all__ = [
    "EFFORTS", "EFFORT_WORDS", "PlanForm", "filled_from", "read_effort", "read_plan", "strata_text",
]  # fmt: skip

Short = Annotated[str, Field(max_length=200)]
Text = Annotated[str, Field(max_length=40_000)]

# What of the effort a method uses, in the order in which it is asked for.
EFFORTS: Mapping[Method, tuple[str, ...]] = {
    Method.LINE: ("length_cm",),
    Method.POINTS: ("points", "interval_cm", "length_cm"),
    Method.PHOTO: ("frames", "points"),
    Method.BELT: ("length_cm", "width_cm"),
    Method.QUADRAT: ("frames", "frame_area_m2"),
    Method.QUADRAT_COVER: ("frames", "frame_area_m2"),
}
EFFORT_WORDS: Mapping[str, str] = {
    "length_cm": "Length of the tape, cm",
    "interval_cm": "Between two points, cm",
    "width_cm": "Width of the belt, both sides together, cm",
    "frames": "Photos or quadrats on a transect",
    "points": "Points on the transect, or on each photo",
    "frame_area_m2": "Area of a quadrat, m2",
}
_WHOLE = ("frames", "points")
_MOST_WHOLE = 1_000_000
_MOST_TRANSECTS = 200


class PlanForm(BaseModel):
    """A new survey as it was typed."""

    name: Short = ""
    date: Short = ""
    method: Short = Method.LINE.value
    strata: Text = ""
    transects: Short = "3"
    length_cm: Short = ""
    interval_cm: Short = ""
    width_cm: Short = ""
    frames: Short = ""
    points: Short = ""
    frame_area_m2: Short = ""
    scatter: Short = "random"
    share: Short = "10"
    observers: Annotated[list[str], Field(max_length=500)] = []
    follows: Short = ""
    same: Short = ""
    drawn: Short = ""
    note: Text = ""


@dataclass(slots=True)
class _Faults:
    """Faults of a form while it is read."""

    found: list[Fault]

    def add(self, place: str, expected: str, found: str, remedy: str) -> None:
        """Keep one."""
        self.found.append(Fault("plan", place, expected, found, remedy))

    def number(self, text: str, place: str) -> float | None:
        """Read a number, or keep why it is none."""
        try:
            return optional_number(text, place)
        except InputError as error:
            self.found += error.faults
            return None

    def day(self, text: str) -> dt.date | None:
        """Read a day, or keep why it is none."""
        try:
            return read_day(text)
        except InputError as error:
            self.found += error.faults
            return None


def read_plan(form: PlanForm, sites: Sequence[Site]) -> PlanSurvey:
    """Read the form of a new survey.

    Raises
    ------
    InputError
        With every fault, those of the strata by line.
    """
    faults = _Faults([])
    if not form.name.strip():
        faults.add("name", "a name", "nothing", "Write one, such as the season and the year.")
    strata = _read_strata(form.strata, sites, faults)
    method = Method(form.method) if form.method in list(Method) else Method.LINE
    effort = _effort(form.model_dump(), method, faults)
    wrong = {fault.place for fault in faults.found}
    faults.found += [one for one in check_effort(method, effort) if one.place not in wrong]
    transects = faults.number(form.transects, "transects a site")
    if transects is None or not 1 <= transects <= _MOST_TRANSECTS or transects % 1:
        expected = f"a whole number from 1 to {_MOST_TRANSECTS}"
        faults.add("transects a site", expected, repr(form.transects[:40]), "Mend it.")
    share = faults.number(form.share, "percent read again")
    if share is not None and not 0 <= share <= 100:
        faults.add("percent read again", "0 to 100", f"{share:g}", "Mend it.")
    day = faults.day(form.date)
    if faults.found:
        raise InputError(faults.found)
    return PlanSurvey(
        form.name, form.method, strata, int(transects or 0), effort, tuple(form.observers),
        (share or 0.0) / 100, optional_text(form.follows), form.same == "1", day,
        form.scatter if method is Method.PHOTO else "random", form.note, form.drawn == "1",
    )  # fmt: skip


def read_effort(typed: Mapping[str, object], method: Method) -> Effort:
    """Read what was searched, as far as it was typed.

    Raises
    ------
    InputError
        With everything that is no number.
    """
    faults = _Faults([])
    effort = _effort(typed, method, faults)
    if faults.found:
        raise InputError(faults.found)
    return effort


def _effort(typed: Mapping[str, object], method: Method, faults: _Faults) -> Effort:
    """Read the fields of the effort that a method uses."""
    values: dict[str, float | int | None] = {}
    for name in EFFORTS[method]:
        place = name.replace("_", " ")
        value = faults.number(str(typed.get(name, "")), place)
        if value is not None and name in _WHOLE:
            if value % 1 or abs(value) > _MOST_WHOLE:
                faults.add(place, "a whole number", f"{value:g}", "Mend it.")
                continue
            value = int(value)
        values[name] = value
    return Effort(**values)  # type: ignore[arg-type]  # whole ones are whole


def _read_strata(text: str, sites: Sequence[Site], faults: _Faults) -> tuple[Stratum, ...]:
    """Read lines of stratum, area and site."""
    known = {site.name.casefold(): site for site in sites}
    areas: dict[str, float] = {}
    found: dict[str, tuple[str, list[str]]] = {}
    first: dict[str, int] = {}
    for number, row in enumerate(text.splitlines(), start=1):
        if not row.strip():
            continue
        place = f"strata, line {number}"
        parts = [part.strip() for part in row.split(",", 2)]
        if len(parts) != 3 or not parts[0] or not parts[2]:
            faults.add(place, "stratum, area, site", repr(row[:60]), "Write all three.")
            continue
        name, area, written = parts
        _area(name, area, place, areas, faults)
        site = known.get(written.casefold())
        if site is None:
            remedy = "Use its name as it is listed, or add the site on the programme's page."
            faults.add(place, "a site of the programme", repr(written[:60]), remedy)
            continue
        if site.id in first:
            told = f"{site.name}, which stands on line {first[site.id]} too"
            faults.add(place, "each site once", told, "Take one of them out.")
            continue
        first[site.id] = number
        found.setdefault(name.casefold(), (name, []))[1].append(site.id)
    if not text.strip():
        remedy = "Write a line for each site: stratum, area, site."
        faults.add("strata", "at least one line", "nothing", remedy)
    return tuple(
        Stratum(name, areas.get(key, 0.0), tuple(ids)) for key, (name, ids) in found.items()
    )


def _area(name: str, text: str, place: str, areas: dict[str, float], faults: _Faults) -> None:
    """Read the area of a stratum, which is the same on all its lines."""
    try:
        area = optional_number(text, place)
    except InputError:
        area = None
    if area is None or area <= 0:
        faults.add(place, "an area above 0", repr(text[:40]), "Write a number in any one unit.")
        return
    if areas.setdefault(name.casefold(), area) != area:
        told, remedy = f"{area:g}", "Write the area of the stratum, not of the site."
        faults.add(place, f"{areas[name.casefold()]:g}, the area of {name}", told, remedy)


def strata_text(view: SurveyView) -> str:
    """Write the strata of a survey as they could be typed."""
    return "\n".join(
        f"{one.name}, {one.area:g}, {view.sites[site].name}"
        for one in view.plan.strata
        for site in one.sites
    )


def filled_from(view: SurveyView) -> PlanForm:
    """Fill the form of a survey that follows another, on its transects."""
    plan = view.plan
    efforts = {
        field.name: f"{getattr(plan.effort, field.name):g}"
        for field in fields(Effort)
        if getattr(plan.effort, field.name) is not None
    }
    return PlanForm(
        method=plan.method.value, strata=strata_text(view), transects=str(plan.transects_per_site),
        share=f"{100 * plan.second_share:g}", observers=list(plan.observers),
        follows=plan.survey, same="1", drawn="1" if plan.sites_drawn else "",
        scatter=plan.scatter, **efforts,
    )  # fmt: skip
