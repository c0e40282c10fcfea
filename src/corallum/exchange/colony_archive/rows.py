"""One colony as rows: the colony, each opinion on it, each look and size, each photo."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from corallum.exchange.colony_archive.context import ColonyContext
from corallum.exchange.colony_archive.log import log_object
from corallum.exchange.colony_archive.shape import MARK, VERIFICATION
from corallum.exchange.survey_archive.places import place_site
from corallum.records.answer import Candidate
from corallum.records.colony import SizeReport, StateReport
from corallum.records.colony_record import (
    ColonyParts,
    ColonyPhoto,
    ColonyRecord,
    Determination,
    Entry,
    PhotoMeasurement,
)
from corallum.records.fold import assemble_record, current_entries
from corallum.records.programme import Event

__all__ = ["ColonyTables", "colony_tables"]

Cells = list[str | int | float | None]
_LEAST = 0.001
_NOTE = "Withheld when this was exported."
# Units and their identifiers in the vocabulary P06 of the British Oceanographic Data Centre.
_P06 = "http://vocab.nerc.ac.uk/collection/P06/current"
_UNITS = {"mm": f"{_P06}/UXMM/", "cm": f"{_P06}/ULCM/", "m": f"{_P06}/ULAA/"}
_ONE = f"{_P06}/UUUU/"
_DEPTH = "depth_m"
_SMALL = "Small copy without place, time or camera; the hash is that of the original."
_ABSENT = "Not in this archive; the hash is that of the original."


@dataclass(frozen=True, slots=True)
class ColonyTables:
    """Rows of one colony for the four tables, in their order."""

    colonies: list[Cells]
    identifications: list[Cells]
    measurements: list[Cells]
    media: list[Cells]


def colony_tables(
    parts: ColonyParts, context: ColonyContext, candidates: Sequence[Candidate] = ()
) -> ColonyTables:
    """Return the rows of one colony.

    Parameters
    ----------
    parts : ColonyParts
        All that is kept of it.
    context : ColonyContext
        What all colonies share.
    candidates : sequence of Candidate
        What the program makes of its evidence, where that is its word that stands.
    """
    made = _Colony(parts, context)
    return ColonyTables(
        [made.colony()],
        list(made.identifications()),
        [*made.looks(), *made.sizes(), *made.chances(candidates)],
        list(made.media()),
    )


class _Colony:
    """Makes the rows of one colony."""

    def __init__(self, parts: ColonyParts, context: ColonyContext) -> None:
        self.parts, self.context = parts, context
        self.record: ColonyRecord = assemble_record(parts)
        self.places = {one.history: n for n, one in enumerate(parts.determinations, start=1)}

    def colony(self) -> Cells:
        """Return the row of the core."""
        record, context = self.record, self.context
        current = record.current
        about: Cells = [""] * 9
        if current is not None:
            about = self._named(current)
        earlier = [one.name for one in record.determinations if one is not current]
        seen = record.seen_on.isoformat()
        observer = context.people[record.observer or record.started_by]
        files = [self._file(one) for one in record.photos]
        notes = [context.note(str(one.report)) for one in record.notes]
        if current is None:
            about = ["Cnidaria", "", "phylum", "", "", "", "", VERIFICATION["none"], ""]
        return [
            record.id, "HumanObservation", "present", "Animalia", *about[:3], about[3],
            context.according_to, *about[4:6], about[7], about[8],
            "" if current is None else self._by(current),
            "" if current is None else current.at.isoformat(), " | ".join(earlier), observer,
            seen, record.event, *self._place(), *self._mark(record.name), 1,
            " | ".join(files), " | ".join(filter(None, notes)), self._history(),
        ]  # fmt: skip

    def _named(self, one: Determination) -> Cells:
        """Return name, id, rank, family, words, doubt, program, verification and remarks."""
        taxon = self.context.taxon(one.name, one.genera)
        return [
            taxon.name, taxon.id, taxon.rank, taxon.family, one.name, taxon.doubt, one.program,
            self._verified(one), self._remarks(one),
        ]  # fmt: skip

    def _verified(self, one: Determination) -> str:
        """Say who stands behind an opinion."""
        return VERIFICATION[one.kind if one.history in self.record.in_effect else "undone"]

    def _by(self, one: Determination) -> str:
        """Return whose opinion it is: a person's, or the program's."""
        if one.kind != "model":
            return self.context.people[one.person]
        return f"corallum {one.program}, a program"

    def _place(self) -> Cells:
        """Return site, position, depth and what was done to them."""
        record, context = self.record, self.context
        site = context.sites.get(record.site or "")
        depth = self._depth()
        if site is None:
            withheld = "" if context.rule.exact else "notes withheld, as they may tell positions"
            return [*[""] * 6, depth, depth, "", withheld]
        placed = place_site(site, context.rule)
        # Its cells are guarded when they are written.
        located = [placed.location, site.name, *placed.position]
        return [*located, depth, depth, placed.generalised, placed.withheld]

    def _depth(self) -> float | None:
        """Return the colony's own depth where it was written, else that of its transect."""
        own = self.record.reports.get(_DEPTH)
        if own is not None and isinstance(own.report, SizeReport):
            return own.report.value
        return self.context.depths.get(self.record.event or "")

    def _mark(self, name: str) -> Cells:
        """Return id, name and scope of a colony that bears a mark and can be found again."""
        return [f"{self.record.id}", name, "colony"] if name else ["", "", ""]

    def _history(self) -> str:
        """Return all that was ever written of a colony, as JSON."""
        context = self.context
        names = {id_: site.name for id_, site in context.sites.items()}
        log = [self._told(log_object(one, context.people, names)) for one in self.parts.history]
        events = self._events()
        sites = {one.report for one in self.parts.entries if one.kind == "site"}
        sites |= {one["site_id"] for one in events}
        found: dict[str, Any] = {
            "archive": MARK, "programme": context.programme, "number": self.parts.number,
            "sites": [self._site(str(id_)) for id_ in sorted(filter(None, map(str, sites)))
                      if id_ in context.sites],
            "events": [{k: v for k, v in one.items() if k != "site_id"} for one in events],
            "log": log,
        }  # fmt: skip
        return json.dumps(found, ensure_ascii=False, sort_keys=True, allow_nan=False)

    def _told(self, entry: dict[str, Any]) -> dict[str, Any]:
        """Return an entry as it may be told: notes only where positions are exact."""
        if self.context.rule.exact:
            return entry
        row = entry.get("row")
        if row is None:
            kept = {k: v for k, v in entry["detail"].items() if k != "record"}
            return {**entry, "detail": kept}
        blank = {k: "" for k in ("note", "caption", "question", "reason") if row.get(k)}
        if entry["table"] == "entry" and row["kind"] == "note":
            blank["report"] = json.dumps(_NOTE)
        return {**entry, "row": {**row, **blank}}

    def _events(self) -> list[dict[str, Any]]:
        """Return the events that the colony was seen in, the widest first."""
        found: dict[str, dict[str, Any]] = {}
        for entry in self.parts.entries:
            if entry.kind == "event" and isinstance(entry.report, str):
                chain = []
                at: str | None = entry.report
                while at is not None:
                    event = self.context.events[at]
                    chain.append(event)
                    at = event.parent
                for one in reversed(chain):
                    found.setdefault(one.id, self._event(one))
        return list(found.values())

    def _event(self, event: Event) -> dict[str, Any]:
        """Return an event as it may be told."""
        site = self.context.sites.get(event.site or "")
        return {
            "id": event.id, "kind": event.kind, "parent": event.parent,
            "site": site.name if site else None, "site_id": event.site, "name": event.name,
            "date": event.date.isoformat() if event.date else None,
            "note": self.context.note(event.note),
        }  # fmt: skip

    def _site(self, id_: str) -> dict[str, Any]:
        """Return a site as it is told."""
        site = self.context.sites[id_]
        at = self.context.rule.at(site.latitude, site.longitude) or (None, None)
        return {"id": id_, "name": site.name, "region": site.region, "latitude": at[0],
                "longitude": at[1], "note": self.context.note(site.note)}  # fmt: skip

    def identifications(self) -> Iterator[Cells]:
        """Yield all opinions in their order, those taken back too."""
        for one in self.parts.determinations:
            named = self._named(one)
            on = ""
            if one.reference_hash:
                on = f"corallum reference {one.reference_version} (SHA-256 {one.reference_hash})"
            yield [
                self.parts.id, f"{self.parts.id}:d{self.places[one.history]}", one.name, named[5],
                *named[:4], self._by(one), one.at.isoformat(), on, named[7], named[8],
            ]  # fmt: skip

    def _remarks(self, one: Determination) -> str:
        """Say what an opinion rests on: probability, status, reason, and what was seen."""
        # An entry that is undone since was known then: only its own time counts.
        known = [entry for entry in self.parts.entries if entry.history <= one.evidence_upto]
        undone = {
            entry.undoes for entry in self.parts.history
            if entry.undoes is not None and entry.id <= one.evidence_upto
        }  # fmt: skip
        standing = current_entries(known, frozenset(e.history for e in known) - undone)
        seen = [_seen(e) for (kind, _), e in standing.items() if kind == "report"]
        genera = " or ".join(genus or "something else" for genus in one.genera)
        reason = self.context.note(one.reason)
        said = [
            f"set: {genera}" if len(one.genera) > 1 else "",
            "" if one.probability is None else f"probability {one.probability:.3f}",
            f"status: {one.status.replace('_', ' ')}",
            f"reason: {reason}" if reason else "",
            f"seen: {', '.join(seen)}" if seen else "",
        ]
        return "; ".join(filter(None, said))

    def looks(self) -> Iterator[Cells]:
        """Yield what stands of a colony: states, sizes and conditions."""
        for place, (character, entry) in enumerate(self.record.reports.items(), start=1):
            value, unit, method, sure = _reported(character, entry)
            yield [
                self.parts.id, f"{self.parts.id}:r{place}", _words(character), value, unit,
                _UNITS.get(unit, ""), "", method, self.context.people[entry.person],
                entry.at.isoformat(), "" if sure else "unsure",
            ]  # fmt: skip
        for place, condition in enumerate(self.record.conditions, start=1):
            yield [
                self.parts.id, f"{self.parts.id}:c{place}", "condition of the colony", condition,
                *[""] * 7,
            ]  # fmt: skip

    def sizes(self) -> Iterator[Cells]:
        """Yield sizes measured on photos."""
        for place, one in enumerate(self.record.measurements, start=1):
            yield [
                self.parts.id, f"{self.parts.id}:m{place}",
                f"{_words(one.character)} on a photo", one.value, _unit(one.character),
                _UNITS.get(_unit(one.character), ""), _accuracy(one),
                f"on a photo, by {one.by}, n = {one.n}, {one.mm_per_pixel:.6g} mm a pixel",
                self.context.people[one.person], one.at.isoformat(),
                f"photo {one.photo}",
            ]  # fmt: skip

    def chances(self, candidates: Sequence[Candidate]) -> Iterator[Cells]:
        """Yield the probability of each set that was kept, and of each genus that may be meant."""
        for one in self.parts.determinations:
            if one.kind == "model" and one.probability is not None:
                names = "|".join(genus or "something else" for genus in one.genera)
                yield self._chance(
                    f"d{self.places[one.history]}:p", names, one.probability, one, "of the set"
                )
        current = self.record.current
        if current is None or current.kind != "model":
            return
        for place, one_ in enumerate(candidates, start=1):
            if one_.probability >= _LEAST:
                name = one_.genus or "something else"
                end = f"d{self.places[current.history]}:p{place}"
                yield self._chance(end, name, one_.probability, current, "of one candidate")

    def _chance(self, end: str, names: str, value: float, one: Determination, what: str) -> Cells:
        """Return one probability."""
        method = (
            f"corallum {one.program}, reference {one.reference_version} "
            f"(SHA-256 {one.reference_hash}), observer errors {one.observer_errors}"
        )
        return [
            self.parts.id, f"{self.parts.id}:{end}", f"identification probability {what}: {names}",
            value, "1", _ONE, "", method, "", one.at.isoformat(),
            f"identification {self.parts.id}:d{self.places[one.history]}",
        ]  # fmt: skip

    def _file(self, one: ColonyPhoto) -> str:
        """Return the name of a photo's file."""
        ending = {"image/png": "png", "image/webp": "webp", "image/tiff": "tif",
                  "image/bmp": "bmp"}.get(one.photo.media_type, "jpg")  # fmt: skip
        return f"photos/{one.photo.sha256}.{'jpg' if self.context.packed == 'small' else ending}"

    def media(self) -> Iterator[Cells]:
        """Yield the photos."""
        context = self.context
        remark = {"small": _SMALL, "none": _ABSENT}.get(context.packed, "")
        for one in self.record.photos:
            form = "image/jpeg" if context.packed == "small" else one.photo.media_type
            # When a photo was added is known; when it was taken stands in the original alone.
            yield [
                self.parts.id, self._file(one), "StillImage", form, context.note(one.caption), "",
                context.people[one.person], context.licence, context.owner, "SHA-256",
                one.photo.sha256, remark,
            ]  # fmt: skip


def _unit(character: str) -> str:
    """Return the unit at the end of a character's id."""
    end = character.rpartition("_")[2]
    return end if end in _UNITS else ""


def _words(character: str) -> str:
    """Return a character's id in words, without the unit at its end."""
    unit = _unit(character)
    return character.removesuffix(f"_{unit}").replace("_", " ") if unit else (
        character.replace("_", " ")
    )  # fmt: skip


def _reported(character: str, entry: Entry) -> tuple[str | float, str, str, bool]:
    """Return value, unit and method of a report, and whether it was sure."""
    report = entry.report
    if isinstance(report, SizeReport):
        return report.value, _unit(character), f"by {report.method}, n = {report.n}", report.sure
    if isinstance(report, StateReport):
        return "|".join(report.states), "", "", report.sure
    return str(report), "", "", True


def _seen(entry: Entry) -> str:
    """Say in a few words what was reported."""
    value, unit, _, sure = _reported(entry.subject, entry)
    shown = f"{value:g} {unit}".strip() if isinstance(value, float) else str(value)
    words = shown.replace("_", " ").replace("|", " or ")
    return f"{_words(entry.subject)} {words}{'' if sure else ' (unsure)'}"


def _accuracy(one: PhotoMeasurement) -> str:
    """Say how accurate a size on a photo is."""
    if one.low is not None and one.high is not None:
        return f"95 % interval {one.low:g} to {one.high:g}"
    return f"scale: relative standard uncertainty {one.relative:g}"
