"""Slates as rows: an event each, an occurrence for each coral, a measurement for each number.

A line that is no coral, or was left out of the survey, is no occurrence: it stands among
the measurements, so that nobody counts sand or a doubtful record as a sighting.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field

from corallum.errors import InputError
from corallum.exchange.archive.guard import guarded
from corallum.exchange.archive.text_table import cell
from corallum.exchange.open_names import parse_open_name
from corallum.exchange.survey_archive.places import Placed, effort_words, sample_size
from corallum.exchange.survey_archive.shape import (
    EVENT_TYPES,
    KINDS,
    LEFT_OUT,
    LINE_FIELDS,
    PROTOCOLS,
    READ_AGAIN,
    UNITS,
    VERIFICATION,
    WRITTEN,
)
from corallum.records.benthos import GENUS, STONY_CORAL, UNIDENTIFIED, UNREADABLE, is_doubted
from corallum.records.survey import FlagAnswer, Line, Method, RecordReading, Slate

__all__ = ["Context", "SlateRows", "Taxon", "rows_of_slate"]

_SIGNS = {
    "indet.": "indet.: what was seen does not allow more",
    "stet.": "stet.: left at this level on purpose",
    "inc.": "inc.: where it belongs is not sure",
}
# What an occurrence has a column for.
_IN_OCCURRENCE = frozenset({"colony", "photo", "said"})
_AREA = (Method.BELT, Method.QUADRAT, Method.QUADRAT_COVER)
_COUNTED = (Method.BELT, Method.QUADRAT)
_QUANTITY = {
    Method.LINE: "intercept length in cm", Method.POINTS: "points", Method.PHOTO: "points",
    Method.BELT: "individuals", Method.QUADRAT: "individuals",
    Method.QUADRAT_COVER: "percent cover of quadrat",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Taxon:
    """What the reference says of a name: rank, family, and number in a register of names."""

    rank: str
    family: str = ""
    aphia: str = ""


@dataclass(slots=True)
class Context:
    """What all slates of a survey share.

    Parameters
    ----------
    people : mapping of str to str
        Names by id.
    placed : mapping of str to Placed
        Where each transect is, as it is told.
    taxa : mapping of str to Taxon
        By label.
    according_to : str
        Which version of the reference.
    searched : mapping of str to (date, frozenset of str)
        Since when and for which genera each observer was qualified; who is not in it searched
        for none.
    notes : bool
        Whether notes are told: they may hold positions.
    drawn : mapping of int to list of (int, int, int)
        Line, draw and order within it of the records of a slate drawn to be read again.
    """

    people: Mapping[str, str]
    placed: Mapping[str, Placed]
    taxa: Mapping[str, Taxon]
    according_to: str
    searched: Mapping[str, tuple[dt.date, frozenset[str]]] = field(default_factory=dict)
    notes: bool = True
    drawn: Mapping[int, Sequence[tuple[int, int, int]]] = field(default_factory=dict)
    names: dict[str, tuple[str, str]] = field(default_factory=dict)

    def note(self, text: str) -> str:
        """Return a note as it may be told."""
        return guarded(text) if self.notes and text else ""

    def doubt(self, said: str) -> tuple[str, str]:
        """Return the doubt of a genus (cf., aff., ? or none) and what the signs after it say."""
        if said not in self.names:
            try:
                found = parse_open_name(said)
                doubt = "" if found.of_species else found.doubt
                self.names[said] = doubt, _SIGNS.get(found.sign, "")
            except InputError:
                # A doubted name that is written in no such form still is doubted.
                self.names[said] = "?" if is_doubted(said) else "", ""
        return self.names[said]


@dataclass(slots=True)
class SlateRows:
    """Rows of texts for the three tables."""

    events: list[list[str]] = field(default_factory=list)
    occurrences: list[list[str]] = field(default_factory=list)
    measurements: list[list[str]] = field(default_factory=list)


def rows_of_slate(
    slate: Slate,
    context: Context,
    answers: Sequence[FlagAnswer] = (),
    readings: Sequence[RecordReading] = (),
) -> SlateRows:
    """Return one slate as rows.

    Parameters
    ----------
    slate : Slate
        That stands.
    context : Context
        What all slates of the survey share.
    answers, readings : sequence
        What was decided on its flags, and read of its lines a second time, in order.
    """
    return _Slate(slate, context, answers, readings).rows()


class _Slate:
    """Turns one slate into rows."""

    def __init__(
        self,
        slate: Slate,
        context: Context,
        answers: Sequence[FlagAnswer],
        readings: Sequence[RecordReading],
    ) -> None:
        self.slate, self.context = slate, context
        self.answers, self.readings = answers, readings
        self.id = f"{slate.transect}:{slate.history}"
        self.observer = guarded(context.people[slate.observer])
        self.protocol = PROTOCOLS[slate.method]
        self.tape = slate.method is Method.LINE
        newest = {(one.line, one.rule): one.decision for one in answers}
        self.out = {line for (line, _), what in newest.items() if what == "left_out"}
        self.again = {one.line: one for one in readings}
        self.found = SlateRows()

    def rows(self) -> SlateRows:
        """Return all rows."""
        self.found.events.append(self._event())
        self.found.events.extend(self._frames())
        for number, line in enumerate(self.slate.lines, start=1):
            if self._is_coral(number, line):
                self.found.occurrences.append(self._occurrence(number, line))
            self.found.measurements.extend(self._measured(number, line))
        for one in self.answers:
            self.found.measurements.append(self._answer(one))
        for reading in self.readings:
            self.found.measurements.extend(self._reading(reading))
        for number, draw, order in self.context.drawn.get(self.slate.history, ()):
            row = self._about(number, f":d{draw}", "drawn to be read again", str(order))
            self.found.measurements.append(row)
        self.found.occurrences.extend(self._absent())
        return self.found

    def _is_coral(self, number: int, line: Line) -> bool:
        """Whether a line is a sighting of coral that counts."""
        return line.kind in (GENUS, UNIDENTIFIED) and not ({number, None} & self.out)

    def _event(self) -> list[str]:
        """The slate itself: one observer on one transect."""
        slate, placed = self.slate, self.context.placed[self.slate.transect]
        size, unit = sample_size(slate.method, slate.effort)
        about = {
            "method": slate.method.value, "observer": self.context.people[slate.observer],
            "effort": {k: v for k, v in asdict(slate.effort).items() if v is not None},
            "source": slate.source,
        }  # fmt: skip
        depth = cell(slate.depth_m)
        return [
            self.id, slate.transect, EVENT_TYPES["slate"], "", slate.date.isoformat(),
            self.protocol, size, unit, effort_words(slate.method, slate.effort),
            *placed.cells(), depth, depth, placed.generalised, placed.withheld, "",
            self.context.note(slate.note), json.dumps(about, sort_keys=True, ensure_ascii=False),
        ]  # fmt: skip

    def _frames(self) -> Iterator[list[str]]:
        """Photos and quadrats: those with lines, and those that were searched in vain."""
        slate, placed = self.slate, self.context.placed[self.slate.transect]
        written = {line.frame for line in slate.lines if line.frame is not None}
        framed = slate.method in (Method.PHOTO, Method.QUADRAT, Method.QUADRAT_COVER)
        searched = range(1, (slate.effort.frames or 0) + 1) if framed else ()
        size, unit = sample_size(slate.method, slate.effort, one_frame=True)
        depth = cell(slate.depth_m)
        for frame in sorted({*written, *searched}):
            kind = "frame" if slate.method is Method.PHOTO else "quadrat"
            yield [
                f"{self.id}:f{frame}", self.id, EVENT_TYPES[kind], str(frame),
                slate.date.isoformat(), self.protocol, size, unit, "", *placed.cells(), depth,
                depth, placed.generalised, placed.withheld, "", "", "",
            ]  # fmt: skip

    def _place(self, line: Line) -> str:
        """Return the event of a line: its photo or quadrat, else the slate."""
        return self.id if line.frame is None else f"{self.id}:f{line.frame}"

    def _occurrence(self, number: int, line: Line) -> list[str]:
        """A coral that was met."""
        slate, context = self.slate, self.context
        name = "Scleractinia" if line.label == STONY_CORAL else line.label
        taxon = context.taxa[line.label]
        doubt, sign = context.doubt(line.said)
        count = str(line.count) if slate.method in _COUNTED else ""
        mark = f"{slate.transect}:{line.colony}" if line.colony else ""
        photo = f"photos/{line.photo}.jpg" if line.photo else ""
        quantity = self._quantity(line)
        named = "" if slate.method is Method.PHOTO else slate.date.isoformat()
        return [
            self._place(line), f"{self.id}:{number}", self._basis(), "present", "Animalia", name,
            _lsid(taxon.aphia), taxon.rank, taxon.family, context.according_to,
            guarded(line.said), doubt, self._verified(number, line), sign, self.observer,
            named, self.observer, count, quantity, _QUANTITY[slate.method] if quantity else "",
            guarded(mark), guarded(line.colony), photo, context.note(line.note),
        ]  # fmt: skip

    def _basis(self) -> str:
        """Photos are looked at later; all else is seen by a diver."""
        photo = self.slate.method is Method.PHOTO
        return "MachineObservation" if photo else "HumanObservation"

    def _quantity(self, line: Line) -> str:
        """What a line counts for; nothing where a reading is missing."""
        method = self.slate.method
        if method is Method.LINE:
            return _length(line)
        if method in _COUNTED:
            return str(line.count)
        return cell(line.cover_percent) if method is Method.QUADRAT_COVER else "1"

    def _verified(self, number: int, line: Line) -> str:
        """Whether somebody read it again, and what came of it."""
        again = self.again.get(number)
        if again is None:
            return VERIFICATION[0]
        return VERIFICATION[1] if again.label == line.label else VERIFICATION[2]

    def _measured(self, number: int, line: Line) -> Iterator[list[str]]:
        """Yield the numbers of a line; of one that is no occurrence, what it is comes first."""
        coral, place, id_ = self._is_coral(number, line), self._place(line), f"{self.id}:{number}"
        own = ["", id_] if coral else [id_, ""]
        if not coral:
            kind = KINDS[line.kind]
            out = {number, None} & self.out
            yield [
                place, id_, "", "", f"{LEFT_OUT}, {kind}" if out else kind, line.label, "", "", "",
                self.protocol, self.observer, "", self.context.note(line.note),
            ]  # fmt: skip
        for name, kind, value, unit in _values(line, coral=coral, tape=self.tape):
            yield [
                place, f"{id_}:{name}", *own, kind, value, unit, UNITS[unit], "", self.protocol,
                "", "", "",
            ]  # fmt: skip

    def _about(self, number: int | None, end: str, kind: str, value: str) -> list[str]:
        """Return something said about a line, or about the slate."""
        if number is None:
            return [self.id, f"{self.id}{end}", "", "", kind, value, *[""] * 7]
        line = self.slate.lines[number - 1]
        row = [self._place(line), f"{self.id}:{number}{end}", "", "", kind, value, *[""] * 7]
        row[3 if self._is_coral(number, line) else 2] = f"{self.id}:{number}"
        return row

    def _answer(self, answer: FlagAnswer) -> list[str]:
        """What was decided on a flag."""
        row = self._about(
            answer.line, f":c{answer.history}", f"check, {answer.rule}", answer.decision.value
        )
        row[10], row[11] = guarded(self.context.people[answer.person]), answer.at.isoformat()
        row[12] = self.context.note(answer.note)
        return row

    def _reading(self, reading: RecordReading) -> Iterator[list[str]]:
        """What a second reader said, and how they wrote it where that differs."""
        end = f":r{reading.history}"
        kind = f"{READ_AGAIN}, {KINDS[reading.kind]}"
        row = self._about(reading.line, end, kind, reading.label)
        row[9] = "read again without seeing the first reading"
        row[10], row[11] = guarded(self.context.people[reading.person]), reading.at.isoformat()
        row[12] = self.context.note(reading.note)
        yield row
        if reading.said != reading.label:
            more = self._about(reading.line, f"{end}:said", WRITTEN, guarded(reading.said))
            more[2] = row[1]
            yield more

    def _absent(self) -> Iterator[list[str]]:
        """Genera that were searched for and not met.

        Only where an area was searched, by somebody qualified for them: beside a tape or a
        point nobody looks. A coral that could not be named may be any of its family, or any
        at all; what could not be read hides anything.
        """
        slate = self.slate
        since, genera = self.context.searched.get(slate.observer, (slate.date, frozenset()))
        if slate.method not in _AREA or None in self.out or slate.date < since:
            return
        hidden = {line.label for line in slate.lines if line.kind in (UNIDENTIFIED, UNREADABLE)}
        if {STONY_CORAL, UNREADABLE} & hidden:
            return
        for genus in sorted(genera - {line.label for line in slate.lines}):
            taxon = self.context.taxa[genus]
            if taxon.family in hidden:
                continue
            row = [""] * 24
            row[:10] = [
                self.id, f"{self.id}:absent:{genus}", self._basis(), "absent", "Animalia", genus,
                _lsid(taxon.aphia), taxon.rank, taxon.family, self.context.according_to,
            ]  # fmt: skip
            row[16], row[18], row[19] = self.observer, "0", _QUANTITY[slate.method]
            row[17] = "0" if slate.method in _COUNTED else ""
            yield row


def _values(line: Line, *, coral: bool, tape: bool) -> Iterator[tuple[str, str, str, str]]:
    """Yield name, words, value and unit of each number of a line that was written."""
    if tape and (length := _length(line)):
        yield "length", "intercept length", length, "cm"
    for name, kind, unit in LINE_FIELDS:
        value = getattr(line, name)
        if value is None or value == "" or (coral and name in _IN_OCCURRENCE):
            continue
        if (name == "count" and value == 1) or (name == "said" and value == line.label):
            continue
        yield name, kind, cell(value), unit


def _length(line: Line) -> str:
    """Return the length of an intercept; nothing where a reading is missing."""
    if line.from_cm is None or line.to_cm is None:
        return ""
    # Two readings of a tape have no more digits than a tape.
    return cell(round(max(line.to_cm - line.from_cm, 0.0), 6))


def _lsid(aphia: str) -> str:
    """Return the identifier of a name in the World Register of Marine Species."""
    return f"urn:lsid:marinespecies.org:taxname:{aphia}" if aphia else ""
