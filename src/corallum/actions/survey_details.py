"""What else a survey tells: sizes of colonies, and the records behind a figure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from corallum.actions.programme_reference import programme_library
from corallum.actions.record_readings import reading_state
from corallum.actions.survey_estimates import BY
from corallum.actions.survey_tables import NO_FORM, survey_data
from corallum.actions.unit_of_work import check_choice, check_id, check_line
from corallum.errors import Fault, InputError
from corallum.estimate.size_structure import (
    SizedColonies,
    SizeQuantile,
    SizeStructure,
    size_quantile,
    size_structure,
)
from corallum.estimate.survey_table import ALL_CORAL
from corallum.records.benthos import is_living_coral
from corallum.records.programme import Event
from corallum.records.survey import Line, RecordReading, Slate
from corallum.store import surveys
from corallum.store.programme import Programme

__all__ = [
    "EDGES_CM",
    "BehindLine",
    "SurveySizes",
    "records_behind",
    "sizes_of",
]

# Classes of colony diameter in the survey manuals differ; these double (our own choice).
EDGES_CM = (0.0, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0, np.inf)


@dataclass(frozen=True, slots=True, eq=False)
class SurveySizes:
    """Sizes of the colonies of one genus, or of all."""

    group: str
    structure: SizeStructure
    median: SizeQuantile


def sizes_of(programme: Programme, survey: str, group: str | None = None) -> SurveySizes:
    """Describe the sizes of a survey's colonies, of one label or of all.

    Raises
    ------
    InputError
        Where diameters were written on fewer than two transects.
    """
    data = survey_data(programme, survey)
    row = {name: t for t, name in enumerate(data.table.transects)}
    with programme.read() as connection:
        rows = surveys.diameters_of(connection, survey, group)
    found = [(row[transect], size) for transect, size in rows if transect in row]
    if len({t for t, _ in found}) < 2:
        remedy = "Write diameters, as belts have them."
        raise InputError([Fault("sizes", "", "diameters on 2 transects", "fewer", remedy)])
    colonies = SizedColonies([size for _, size in found], [t for t, _ in found], len(row))
    area = None if data.table.is_cover else data.table.searched
    return SurveySizes(
        group or ALL_CORAL, size_structure(colonies, EDGES_CM, area_m2=area),
        size_quantile(colonies),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class BehindLine:
    """One record behind a figure, and where it is."""

    slate: Slate
    number: int
    line: Line
    transect: Event
    site: str
    reading: RecordReading | None


def records_behind(
    programme: Programme,
    survey: str,
    group: str | None = None,
    *,
    by: str = "genus",
    site: str | None = None,
    most: int = 500,
) -> tuple[BehindLine, ...]:
    """Return records of a genus, a family, a form or all of a survey, at one site or all.

    What was said to be it, and what was found to be it at the second reading; what was left
    out is behind no figure.
    """
    check_id(survey, "survey")
    check_choice(by, "by", BY)
    belongs = _membership(programme, None if group is None else check_line(group, "group"), by)
    readings = reading_state(programme, survey).readings
    found: list[BehindLine] = []
    with programme.read() as connection:
        transects = {one.id: one for one in surveys.transects_of(connection, survey)}
        out = surveys.left_out_of(connection, survey)
        for slate in surveys.slates_of(connection, survey):
            transect = transects[slate.transect]
            if site is not None and transect.site != site:
                continue
            for number, line in enumerate(slate.lines, start=1):
                if {(slate.history, number), (slate.history, None)} & out:
                    continue
                reading = readings.get((slate.history, number))
                if belongs(line, reading):
                    found.append(
                        BehindLine(slate, number, line, transect, transect.site or "", reading)
                    )
                    if len(found) == most:
                        return tuple(found)
    return tuple(found)


Belongs = Callable[[Line, RecordReading | None], bool]


def _membership(programme: Programme, group: str | None, by: str) -> Belongs:
    """Return what tells whether a record belongs to a group; None is everything."""
    if group is None:
        return lambda *_: True
    if group == ALL_CORAL:
        return lambda line, reading: (
            is_living_coral(line.kind) or (reading is not None and is_living_coral(reading.kind))
        )
    if by == "form":
        wanted = "" if group == NO_FORM else group
        return lambda line, _: is_living_coral(line.kind) and line.form == wanted
    genera = programme_library(programme).reference.entries.genera
    labels = {group, *(name for name, genus in genera.items() if genus.family == group)}
    return lambda line, reading: (
        line.label in labels or (reading is not None and reading.label in labels)
    )
