"""A survey as an archive of Darwin Core, of any size: a page of slates at a time.

What was done before a stop is kept beside the target and taken up again, as long as the
history is the same.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import corallum
from corallum.actions.export_survey_about import SurveyAbout, about_survey, survey_dataset
from corallum.actions.export_survey_figures import figure_rows
from corallum.actions.programme_reference import programme_library, reference_version
from corallum.actions.unit_of_work import check_id
from corallum.errors import CorallumError, Fault, InputError
from corallum.exchange.archive.eml import EML, LICENCES, write_eml
from corallum.exchange.archive.meta import META, write_meta
from corallum.exchange.archive.pack import Work, pack
from corallum.exchange.archive.text_table import TableWriter
from corallum.exchange.coordinates import EXACT, CoordinateRule
from corallum.exchange.survey_archive.lines import SlateRows, rows_of_slate
from corallum.exchange.survey_archive.shape import DESCRIBED, MEMBERS
from corallum.store import survey_stream as stream
from corallum.store.database import Connection
from corallum.store.photos import photo_path
from corallum.store.programme import Programme

__all__ = ["ExportSurvey", "SurveyWritten", "export_survey"]

Progress = Callable[[float], None]
# Slates read, and written as one part, at a time.
_PAGE = 200
_BEGUN, _FIGURES = "events", "figures"
# Shares of the work that the tables and the estimates take; packing is the rest.
_TABLES, _ESTIMATES = 0.75, 0.1


@dataclass(frozen=True, slots=True)
class ExportSurvey:
    """How a survey is to be written.

    Parameters
    ----------
    survey : str
        Id of the event.
    target : Path
        The zip: a new file.
    rule : CoordinateRule
        How exactly positions are told; notes are told only where positions are exact.
    creators : tuple of str
        Names of those who made the data, as they wish to be named; empty names nobody.
    licence : str
        Key of ``exchange.archive.eml.LICENCES``, or empty.
    absences : bool
        Whether genera that were searched for in vain are written.
    estimates : bool
        Whether figures of the survey, as said and corrected, are among its measurements.
    photos : bool
        Whether small copies of the photos are packed; they carry no place, time or camera.
    invented : bool
        Whether the data are made up; a programme that calls itself invented always says so.
    replace : bool
        Whether a file that is there gives way, once the new one is whole.
    """

    survey: str
    target: Path
    rule: CoordinateRule = EXACT
    creators: tuple[str, ...] = ()
    licence: str = ""
    absences: bool = True
    estimates: bool = False
    photos: bool = False
    invented: bool = False
    replace: bool = False


@dataclass(frozen=True, slots=True)
class SurveyWritten:
    """What was written.

    Parameters
    ----------
    target, sha256 : Path and str
        The zip, and its hash.
    rows : mapping of str to int
        Rows of each table.
    kept : int
        Parts that were done before a stop, and not done again.
    photos, photos_gone : int
        Photos that were packed, and photos that are named but no longer in the programme's folder.
    notes : tuple of str
        What to know.
    """

    target: Path
    sha256: str
    rows: Mapping[str, int]
    kept: int = 0
    photos: int = 0
    photos_gone: int = 0
    notes: tuple[str, ...] = field(default=())


def export_survey(
    programme: Programme,
    command: ExportSurvey,
    now: dt.datetime,
    progress: Progress = lambda _: None,
) -> SurveyWritten:
    """Write a survey as an archive of Darwin Core.

    Raises
    ------
    InputError
        Where the file is there or can't be written; what was done is kept for the next time.
    """
    check_id(command.survey, "survey")
    if command.licence and command.licence not in LICENCES:
        expected = f"one of {', '.join(LICENCES)}"
        found = repr(command.licence)[:40]
        raise InputError([Fault("licence", "", expected, found, "Use one of these.")])
    with programme.read() as connection:
        head = stream.history_head(connection)
        about = about_survey(programme, connection, command.survey, command.rule,
                             absences=command.absences)  # fmt: skip
        work = Work(command.target, _key(programme, head, command), replace=command.replace)
        kept = len(work.done)
        if not kept:
            _write_events(work, about)
        _write_slates(work, connection, about, lambda share: progress(_TABLES * share))
        notes = list(about.notes)
        if command.estimates:
            notes += _write_figures(work, programme, command.survey)
        photos, gone = ({}, 0) if not command.photos else _photos(programme, connection, about)
    progress(_TABLES + _ESTIMATES)
    dataset = survey_dataset(about, command.creators, command.licence, now.date(),
                             invented=command.invented)  # fmt: skip
    rows = {member.file: work.rows(member.file) for member in MEMBERS}
    texts = {META: write_meta(DESCRIBED), EML: write_eml(dataset)}
    rest = 1 - _TABLES - _ESTIMATES
    digest = pack(work, MEMBERS, texts, photos,
                  lambda share: progress(_TABLES + _ESTIMATES + rest * share))  # fmt: skip
    return SurveyWritten(command.target, digest, rows, kept, len(photos), gone, tuple(notes))


def _key(programme: Programme, head: stream.Head, command: ExportSurvey) -> str:
    """Return what must be the same for parts to be taken up again.

    Names of genera and the programme's settings stand in files of their own, not in the history.
    """
    wishes = [
        corallum.__version__, programme_library(programme).compiled.hash,
        reference_version(programme), repr(programme.settings),
        head.entry, head.seal, command.survey, repr(command.rule),
        command.absences, command.estimates, _PAGE,
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(wishes).encode()).hexdigest()


def _write_events(work: Work, about: SurveyAbout) -> None:
    """Write the survey, its visits and its transects: the first part."""
    with work.step(MEMBERS[:1], lambda: _BEGUN) as (events,):
        events.write_many(about.event_rows())


def _write_slates(
    work: Work, connection: Connection, about: SurveyAbout, progress: Progress
) -> None:
    """Write the slates, a page a part, after those that are done."""
    after: int | None = _after(work)
    written, total = 0, max(about.lines, 1)
    while after is not None:
        page = stream.slate_page(
            connection, about.survey.id, after=after, most=_PAGE, gone=about.gone
        )
        following = page.last
        with work.step(MEMBERS, lambda: json.dumps(following)) as writers:  # noqa: B023  run within the loop
            for found in _rows(about, page):
                _write(writers, found)
        written += sum(len(slate.lines) for slate in page.slates)
        after = page.last
        progress(min(1.0, written / total))


def _after(work: Work) -> int | None:
    """Return after which entry of the history to go on; None where all slates are done."""
    last = next((one for one in reversed(work.done) if one not in (_BEGUN, _FIGURES)), "0")
    found: int | None = json.loads(last)
    return found


def _rows(about: SurveyAbout, page: stream.SlatePage) -> Iterator[SlateRows]:
    """Yield the rows of each slate of a page."""
    answers: dict[int, list[int]] = {}
    readings: dict[int, list[int]] = {}
    for i, one in enumerate(page.answers):
        answers.setdefault(one.slate, []).append(i)
    for i, reading in enumerate(page.readings):
        readings.setdefault(reading.slate, []).append(i)
    for slate in page.slates:
        yield rows_of_slate(
            slate, about.context,
            [page.answers[i] for i in answers.get(slate.history, ())],
            [page.readings[i] for i in readings.get(slate.history, ())],
        )  # fmt: skip


def _write(writers: list[TableWriter], found: SlateRows) -> None:
    """Write the rows of a slate into the three tables."""
    tables = (found.events, found.occurrences, found.measurements)
    for writer, rows in zip(writers, tables, strict=True):
        writer.write_many(rows)


def _write_figures(work: Work, programme: Programme, survey: str) -> list[str]:
    """Write figures of the survey as measurements of it; return what to know of them."""
    if _FIGURES in work.done:
        return []
    rows, notes = figure_rows(programme, survey)
    with work.step(MEMBERS[2:], lambda: _FIGURES) as (measurements,):
        for row in rows:
            measurements.write(row)
    return list(notes)


def _photos(
    programme: Programme, connection: Connection, about: SurveyAbout
) -> tuple[dict[str, Path], int]:
    """Return small copies of the photos by their names, and how many are gone."""
    found: dict[str, Path] = {}
    named = stream.photos_of_survey(connection, about.survey.id)
    for sha256, media_type in named.items():
        with suppress(CorallumError):
            path = photo_path(programme.photo_folder, sha256, media_type, "page")
            found[f"photos/{sha256}.jpg"] = path
    return found, len(named) - len(found)
