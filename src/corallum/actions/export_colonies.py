"""The colonies of a programme as an archive of Darwin Core, with all that was ever said of them.

Written a page of colonies at a time; what was done before a stop is taken up again.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import corallum
from corallum.actions.export_survey import SurveyWritten
from corallum.actions.programme_reference import (
    programme_determiner,
    programme_library,
    reference_version,
)
from corallum.errors import Fault, InputError, NotFoundError
from corallum.exchange.archive.eml import EML, LICENCES, Box, Dataset, write_eml
from corallum.exchange.archive.meta import META, write_meta
from corallum.exchange.archive.pack import Work, pack
from corallum.exchange.colony_archive.context import ColonyContext, GenusFacts
from corallum.exchange.colony_archive.rows import colony_tables
from corallum.exchange.colony_archive.shape import DESCRIBED, MEMBERS
from corallum.exchange.coordinates import EXACT, CoordinateRule
from corallum.records.answer import Candidate
from corallum.records.colony_record import ColonyParts, ColonyRecord
from corallum.records.fold import as_colony, assemble_record
from corallum.store import colonies as store
from corallum.store import people
from corallum.store.database import Connection
from corallum.store.photos import original_path, photo_path
from corallum.store.programme import Programme
from corallum.store.survey_stream import history_head
from corallum.store.surveys import plans, slates_of

__all__ = ["PHOTOS", "ExportColonies", "colony_context", "export_colonies"]

PHOTOS = ("none", "small", "original")
_PAGE = 100
_TABLES = 0.8
_LEAST = 1e-3
_METHODS = (
    "Observation: each colony was looked at by a diver or on photos; what was seen is given "
    "character by character, sizes with how they were measured.",
    "Identification: to genus, by a program that weighs the evidence, by second readers and by "
    "leads. Every identification is given in its order; none was written over. Names that can't "
    "be told apart in the water stay open.",
    "Probabilities are given as measurements, with the program and the version of its reference "
    "that worked them out. They hold for the evidence given, not for the population.",
)


_GUARD = (
    "A text that a spreadsheet would take for a formula (it begins with =, +, -, @, a tab or a "
    "carriage return) has an apostrophe before it; take one off to have it as it was."
)


@dataclass(frozen=True, slots=True)
class ExportColonies:
    """How the colonies are to be written.

    Parameters
    ----------
    target : Path
        The zip: a new file.
    rule : CoordinateRule
        How exactly positions are told; notes and captions are told only where they are exact.
    creators : tuple of str
        Names of those who made the data, as they wish to be named; empty names nobody.
    licence : str
        Key of ``exchange.archive.eml.LICENCES``, or empty.
    photos : str
        One of `PHOTOS`: small copies carry no place, time or camera; originals may.
    invented : bool
        Whether the data are made up; a programme that calls itself invented always says so.
    replace : bool
        Whether a file that is there gives way, once the new one is whole.
    """

    target: Path
    rule: CoordinateRule = EXACT
    creators: tuple[str, ...] = ()
    licence: str = ""
    photos: str = "none"
    invented: bool = False
    replace: bool = False


class _Found:
    """What all colonies together have: days, positions, taxa and photos."""

    def __init__(self) -> None:
        self.days: list[dt.date] = []
        self.sites: set[str] = set()
        self.taxa: set[tuple[str, str]] = set()
        self.photos: dict[str, str] = {}

    def add(self, record: ColonyRecord, context: ColonyContext) -> None:
        """Count a colony in."""
        self.days.append(record.seen_on)
        if record.site is not None:
            self.sites.add(record.site)
        if record.current is not None:
            taxon = context.taxon(record.current.name, record.current.genera)
            self.taxa.add((taxon.rank, taxon.name))
        self.photos |= {one.photo.sha256: one.photo.media_type for one in record.photos}


def export_colonies(
    programme: Programme,
    command: ExportColonies,
    now: dt.datetime,
    progress: Callable[[float], None] = lambda _: None,
) -> SurveyWritten:
    """Write the colonies that stand as an archive of Darwin Core.

    Raises
    ------
    InputError
        Where the file is there or can't be written, there is no colony, or originals are asked
        for while positions are not to be told exactly.
    """
    _check(command)
    with programme.read() as connection:
        ids = tuple(store.colony_ids(connection))
        if not ids:
            remedy = "Start a colony first."
            raise InputError([Fault("colonies", "", "at least one colony", "none", remedy)])
        context = colony_context(programme, connection, command)
        work = Work(command.target, _key(programme, connection, command), replace=command.replace)
        kept, found = len(work.done), _Found()
        for done in range(0, len(ids), _PAGE):
            parts = [store.load_parts(connection, id_) for id_ in ids[done : done + _PAGE]]
            for one in parts:
                found.add(assemble_record(one), context)
            if done // _PAGE >= kept:
                _write(work, programme, context, parts)
            progress(_TABLES * min(1.0, (done + _PAGE) / len(ids)))
    photos, gone = _photos(programme, command.photos, found.photos)
    rows = {member.file: work.rows(member.file) for member in MEMBERS}
    dataset = _dataset(programme, command, context, found, now.date())
    texts = {META: write_meta(DESCRIBED), EML: write_eml(dataset)}
    digest = pack(work, MEMBERS, texts, photos,
                  lambda share: progress(_TABLES + (1 - _TABLES) * share))  # fmt: skip
    left_out = "Notes, captions, questions and reasons were left out, as they may tell positions."
    notes = () if command.rule.exact else (left_out,)
    return SurveyWritten(command.target, digest, rows, kept, len(photos), gone, notes)


def _check(command: ExportColonies) -> None:
    """Refuse wishes that can't be, or that would tell what is not to be told."""
    faults = []
    if command.licence and command.licence not in LICENCES:
        found = repr(command.licence)[:40]
        expected = f"one of {', '.join(LICENCES)}"
        faults.append(Fault("licence", "", expected, found, "Use one of these."))
    if command.photos not in PHOTOS:
        expected = f"one of {', '.join(PHOTOS)}"
        faults.append(Fault("photos", "", expected, repr(command.photos)[:40], "Use one."))
    if command.photos == "original" and not command.rule.exact:
        remedy = "Pack small copies, which carry no place, or tell positions exactly."
        found = "originals, which may hold their positions"
        faults.append(Fault("photos", "", "photos that tell no position", found, remedy))
    if faults:
        raise InputError(faults)


def _key(programme: Programme, connection: Connection, command: ExportColonies) -> str:
    """Return what must be the same for parts to be taken up again.

    Names of genera and the programme's settings stand in files of their own, not in the history.
    """
    head = history_head(connection)
    wishes = [corallum.__version__, programme_library(programme).compiled.hash,
              reference_version(programme), repr(programme.settings), head.entry, head.seal,
              repr(command.rule), command.licence, command.photos, _PAGE]  # fmt: skip
    return hashlib.sha256(json.dumps(wishes).encode()).hexdigest()


def colony_context(
    programme: Programme, connection: Connection, command: ExportColonies
) -> ColonyContext:
    """Return what all colonies share."""
    reference = programme_library(programme).reference
    genera = {
        name: GenusFacts(genus.family, genus.order, genus.aphia_id)
        for name, genus in reference.entries.genera.items()
    }
    depths: dict[str, float] = {}
    for survey in plans(connection):
        for slate in slates_of(connection, survey):
            if slate.depth_m is not None:
                depths.setdefault(slate.transect, slate.depth_m)
    name = programme.settings.name
    return ColonyContext(
        name,
        {one.id: one.name for one in people.all_people(connection)},
        {one.id: one for one in people.all_sites(connection)},
        {one.id: one for one in people.all_events(connection, None, None)},
        depths, genera, f"corallum reference {reference_version(programme)}", command.rule,
        LICENCES[command.licence][1] if command.licence else "", name, command.photos,
    )  # fmt: skip


def _write(
    work: Work, programme: Programme, context: ColonyContext, page: Sequence[ColonyParts]
) -> None:
    """Write a page of colonies as one part."""
    with work.step(MEMBERS, lambda: "colonies") as writers:
        for parts in page:
            found = colony_tables(parts, context, _candidates(programme, assemble_record(parts)))
            tables = (found.colonies, found.identifications, found.measurements, found.media)
            for writer, rows in zip(writers, tables, strict=True):
                for row in rows:
                    writer.write(row)


def _candidates(programme: Programme, record: ColonyRecord) -> tuple[Candidate, ...]:
    """Return what the program makes of a colony, where that is what it made of it before.

    Only on the same reference and the same evidence would it be the same answer.
    """
    current = record.current
    if current is None or current.kind != "model" or current.probability is None:
        return ()
    compiled = programme_library(programme).compiled
    newest = max((entry.history for entry in record.reports.values()), default=0)
    if current.reference_hash != compiled.hash or newest > current.evidence_upto:
        return ()
    try:
        determiner = programme_determiner(programme, current.observer_errors)
        shares = determiner.posterior([as_colony(record)]).genus[0]
    except (InputError, NotFoundError, KeyError):
        # The errors of an observer, or the words of a report, are of another time.
        return ()
    names = (*compiled.genera, None)
    found = [Candidate(name, None, float(share))
             for name, share in zip(names, shares, strict=True) if share >= _LEAST]  # fmt: skip
    return tuple(sorted(found, key=lambda one: -one.probability))


def _photos(
    programme: Programme, wanted: str, photos: Mapping[str, str]
) -> tuple[dict[str, Path], int]:
    """Return the files to pack by their names, and how many are gone."""
    files: dict[str, Path] = {}
    gone = 0
    if wanted == "none":
        return files, gone
    for sha256, media_type in sorted(photos.items()):
        folder = programme.photo_folder
        try:
            path = (
                photo_path(folder, sha256, media_type, "page") if wanted == "small"
                else original_path(folder, sha256, media_type)
            )  # fmt: skip
        except NotFoundError:
            gone += 1
            continue
        if not path.is_file():
            gone += 1
            continue
        files[f"photos/{sha256}{path.suffix}"] = path
    return files, gone


def _dataset(
    programme: Programme,
    command: ExportColonies,
    context: ColonyContext,
    found: _Found,
    today: dt.date,
) -> Dataset:
    """Describe the colonies as a data set."""
    name = programme.settings.name
    at = [command.rule.at(context.sites[one].latitude, context.sites[one].longitude)
          for one in sorted(found.sites)]  # fmt: skip
    told = [one for one in at if one is not None]
    box = None
    if told:
        north, east = [one[0] for one in told], [one[1] for one in told]
        box = Box(min(east), max(east), max(north), min(north))
    abstract = (
        f"Stony corals looked at one by one by {name}: {len(found.days)} colonies, each with "
    )
    return Dataset(
        f"corallum:{_slug(name)}:colonies", f"Colonies, {name}",
        f"{abstract}what was seen of it and every identification.", name, command.creators, today,
        command.licence, min(found.days), max(found.days), name, box,
        tuple(sorted(found.taxa)), _METHODS, (_GUARD,),
        command.invented or "invented" in name.casefold(),
    )  # fmt: skip


def _slug(name: str) -> str:
    """Return a name as part of an identifier."""
    return hashlib.sha256(name.encode()).hexdigest()[:12]
