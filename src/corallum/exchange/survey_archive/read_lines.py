"""Read the lines of slates out of the occurrences and measurements of a survey archive."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from corallum.errors import InputError
from corallum.exchange.archive.open import Archive
from corallum.exchange.archive.terms import EXTENDED_MEASUREMENT, OCCURRENCE
from corallum.exchange.open_names import DOUBTS, parse_open_name
from corallum.exchange.sheet import shown
from corallum.exchange.survey_archive.shape import (
    KINDS,
    LEFT_OUT,
    LINE_FIELDS,
    MEMBERS,
    READ_AGAIN,
    WRITTEN,
)
from corallum.records.benthos import GENUS, STONY_CORAL, UNIDENTIFIED
from corallum.records.survey import Line

__all__ = ["LineReader", "texts_fit"]

_OCCURRENCES, _MEASURES = MEMBERS[1].file, MEMBERS[2].file
_REMEDY = "Mend it, or export it again."
_FIELDS = {words: name for name, words, _ in LINE_FIELDS}
_WHOLE = ("point", "count")
_TEXTS = ("form", "colony", "photo", "said")
_KIND_OF = {words: kind for kind, words in KINDS.items()}
_HEADS = _KIND_OF | {f"{LEFT_OUT}, {words}": kind for words, kind in _KIND_OF.items()}
_PHOTO = re.compile(r"photos/([0-9a-f]{64})\.jpg")
_MOST_TEXT, _MOST_NUMBER, _SHORT = 4000, 1e9, 32
# Longest texts of what a line keeps.
_MOST = {"scientificName": 80, "verbatimIdentification": 120, "organismName": 120,
         "measurementValue": 120}  # fmt: skip
_HASH = re.compile(r"[0-9a-f]{64}")
_LENGTH = "intercept length"
_CHECK, _AGAIN, _DRAWN = "check, ", f"{READ_AGAIN}, ", "drawn to be read again"
# Parts of the id of what was said of a line: transect, slate, line, and what it is.
_PARTS = 4

Row = Mapping[str, str]


class LineReader:
    """Gathers the lines of slates, and what was read and decided of them.

    Parameters
    ----------
    archive : Archive
        Open.
    slates : frozenset of str
        Ids of the slates.
    frames : mapping of str to (str, int)
        Slate and number of each photo or quadrat.
    """

    def __init__(
        self, archive: Archive, slates: frozenset[str], frames: Mapping[str, tuple[str, int]]
    ) -> None:
        self.archive, self.slates, self.frames = archive, slates, frames
        self.fields: dict[str, dict[int, dict[str, Any]]] = {id_: {} for id_ in slates}
        self._drawn: dict[str, dict[int, tuple[str, int]]] = {}
        self._readings: dict[str, tuple[Any, ...]] = {}
        self._written: dict[str, str] = {}
        self._answers: list[tuple[int, tuple[Any, ...]]] = []
        self._seen: set[str] = set()

    def fault(self, file: str, row: int, column: str, expected: str, found: str) -> None:
        """Note a fault of a cell."""
        self.archive.fault(file, f"row {row}, {column}", expected, found, _REMEDY)

    def read(self) -> None:
        """Read both tables."""
        for number, row in self.archive.rows(OCCURRENCE):
            if self._is_new(_OCCURRENCES, number, "occurrenceID", row):
                self._occurrence(number, row)
        for number, row in self.archive.rows(EXTENDED_MEASUREMENT):
            if self._is_new(_MEASURES, number, "measurementID", row):
                self._measurement(number, row)

    def _is_new(self, file: str, number: int, column: str, row: Row) -> bool:
        """Whether a row has an id of its own, and texts that can be kept."""
        id_ = row[column]
        key = f"{file} {id_}"
        if not id_ or key in self._seen:
            told = "a blank cell" if not id_ else f"{shown(id_)} again"
            self.fault(file, number, column, "an id of its own", told)
            return False
        self._seen.add(key)
        return texts_fit(self.archive, file, number, row, _MOST)

    def _line(self, file: str, number: int, column: str, row: Row) -> tuple[str, int] | None:
        """Return slate and line of a record's id, or note that it is none."""
        parts = row[column].split(":")
        slate = ":".join(parts[:2])
        at = row["eventID"]
        inside = at == slate or self.frames.get(at, ("", 0))[0] == slate
        line = parts[2] if len(parts) >= 3 else ""
        if slate in self.slates and inside and line.isascii() and line.isdigit():
            return slate, int(line[:7])
        expected = "the id of a line of its event"
        self.fault(file, number, column, expected, shown(row[column]))
        return None

    def _of(self, record: tuple[str, int]) -> dict[str, Any]:
        """Return what is known of a line so far."""
        return self.fields[record[0]].setdefault(record[1], {})

    def _occurrence(self, number: int, row: Row) -> None:
        """Read a coral that was met; one that was not met is no line."""
        status = row["occurrenceStatus"]
        if status not in {"present", "absent"}:
            told = shown(status)
            self.fault(_OCCURRENCES, number, "occurrenceStatus", "present or absent", told)
            return
        named = self._named(number, row)
        if status == "absent" or named is None:
            return
        record = self._line(_OCCURRENCES, number, "occurrenceID", row)
        if record is None:
            return
        photo = row.get("associatedMedia", "")
        kept = _PHOTO.fullmatch(photo)
        if photo and kept is None:
            told = shown(photo)
            self.fault(_OCCURRENCES, number, "associatedMedia", "photos/SHA-256.jpg", told)
        found = {
            "label": named[0], "kind": named[1], "colony": row.get("organismName", ""),
            "said": row["verbatimIdentification"] or named[0],
            "photo": kept.group(1) if kept else None, "note": row.get("occurrenceRemarks", ""),
        }  # fmt: skip
        if row["eventID"] in self.frames:
            found["frame"] = self.frames[row["eventID"]][1]
        self._of(record).update(found)

    def _named(self, number: int, row: Row) -> tuple[str, str] | None:
        """Return label and kind of a name, or note what is wrong with it."""
        name, rank = row["scientificName"], row["taxonRank"]
        doubt = row["identificationQualifier"]
        if doubt not in {"", *DOUBTS}:
            expected = f"nothing, or one of {', '.join(DOUBTS)}"
            self.fault(_OCCURRENCES, number, "identificationQualifier", expected, shown(doubt))
            return None
        try:
            bare = parse_open_name(name).plain == name and " " not in name
        except InputError:
            bare = False
        if not bare:
            expected = "the name of a genus, family or order, without signs"
            self.fault(_OCCURRENCES, number, "scientificName", expected, shown(name))
            return None
        if rank == "order" and name == "Scleractinia":
            return STONY_CORAL, UNIDENTIFIED
        if rank in {"genus", "family"}:
            return name, GENUS if rank == "genus" else UNIDENTIFIED
        self.fault(_OCCURRENCES, number, "taxonRank", "genus, family or order", shown(rank))
        return None

    def _measurement(self, number: int, row: Row) -> None:
        """Read one measurement, by what it is of."""
        kind = row["measurementType"]
        if kind == _LENGTH or row["eventID"] not in self.frames.keys() | self.slates:
            # A length follows from its ends; figures of the survey from its lines.
            return
        if kind.startswith(_CHECK):
            self._answer(number, row)
            return
        record = self._line(_MEASURES, number, "measurementID", row)
        if record is not None:
            self._said_of(number, row, record)

    def _said_of(self, number: int, row: Row, record: tuple[str, int]) -> None:
        """Read what is said of a line."""
        kind = row["measurementType"]
        if kind in _HEADS:
            self._head(record, row, _HEADS[kind])
        elif kind.startswith(_AGAIN):
            self._reading(number, row, record)
        elif kind == _DRAWN:
            self._draw(number, row, record)
        elif kind == WRITTEN and ":r" in row["measurementID"]:
            self._written[row.get("parentMeasurementID", "")] = row["measurementValue"]
        elif kind in _FIELDS:
            self._field(number, row, record)
        else:
            told = shown(kind)
            self.fault(_MEASURES, number, "measurementType", "a measurement of a line", told)

    def _head(self, record: tuple[str, int], row: Row, kind: str) -> None:
        """Read what a line is that is no occurrence."""
        found = self._of(record)
        found.update(label=row["measurementValue"], kind=kind,
                     note=row.get("measurementRemarks", ""))  # fmt: skip
        found.setdefault("said", row["measurementValue"])
        if row["eventID"] in self.frames:
            found["frame"] = self.frames[row["eventID"]][1]

    def _field(self, number: int, row: Row, record: tuple[str, int]) -> None:
        """Read one number or word of a line."""
        name, text = _FIELDS[row["measurementType"]], row["measurementValue"]
        try:
            value = _value(name, text)
        except ValueError:
            expected = "a word or a hash" if name in _TEXTS else "a number"
            self.fault(_MEASURES, number, "measurementValue", expected, shown(text))
            return
        self._of(record)[name] = value

    def _reading(self, number: int, row: Row, record: tuple[str, int]) -> None:
        """Read what a second reader said."""
        kind = _KIND_OF.get(row["measurementType"].removeprefix(_AGAIN), "")
        person = row.get("measurementDeterminedBy", "")
        if not kind or not person:
            expected = "a kind of reading, and who read"
            told = shown(row["measurementType"])
            self.fault(_MEASURES, number, "measurementType", expected, told)
            return
        label = row["measurementValue"]
        self._readings[row["measurementID"]] = (
            *record, label, label, kind, row.get("measurementRemarks", ""), person,
        )  # fmt: skip

    def _draw(self, number: int, row: Row, record: tuple[str, int]) -> None:
        """Read in which draw a record was, and as which."""
        draw = row["measurementID"].rpartition(":d")[2]
        order = row["measurementValue"]
        if not (order.isascii() and order.isdigit()):
            expected = "the number of the record in its draw"
            self.fault(_MEASURES, number, "measurementValue", expected, shown(order))
            return
        self._drawn.setdefault(draw, {})[int(order[:9])] = record

    def _answer(self, number: int, row: Row) -> None:
        """Read a decision on a flag, of a line or of the slate as a whole."""
        record: tuple[str, int | None] | None
        slate, _, end = row["measurementID"].rpartition(":c")
        if slate in self.slates:
            record = slate, None
        else:
            record = self._line(_MEASURES, number, "measurementID", row)
        person = row.get("measurementDeterminedBy", "")
        if record is None or not person or not (end.isascii() and end.isdigit()):
            expected = "a decision on a flag, and whose it is"
            told = shown(row["measurementID"])
            self.fault(_MEASURES, number, "measurementID", expected, told)
            return
        rule = row["measurementType"].removeprefix(_CHECK)
        values = (*record, rule, row["measurementValue"], row.get("measurementRemarks", ""), person)
        self._answers.append((int(end[:12]), values))

    def lines_of(self, slate: str, row: int, file: str) -> tuple[Line, ...]:
        """Return the lines of a slate; a number that is missing is a fault."""
        known = self.fields[slate]
        found = []
        for number in range(1, max(known, default=0) + 1):
            values = known.get(number, {})
            if "label" not in values:
                expected = f"line {number} of the slate, among occurrences or measurements"
                self.fault(file, row, "eventID", expected, "none")
                if len(known) < number:
                    break
                continue
            found.append(Line(**values))
        return tuple(found)

    def drawn_of(self, draw: str) -> tuple[tuple[str, int], ...]:
        """Return the records of a draw in their order."""
        found = self._drawn.get(draw, {})
        return tuple(found[order] for order in sorted(found))

    def readings(self) -> Iterator[tuple[Any, ...]]:
        """Yield second readings in the order made."""
        for id_ in sorted(self._readings, key=_entry):
            slate, line, said, *rest = self._readings[id_]
            yield slate, line, self._written.get(id_, said), *rest

    def answers(self) -> Iterator[tuple[Any, ...]]:
        """Yield decisions on flags in the order made."""
        for _, values in sorted(self._answers, key=lambda one: one[0]):
            yield values


def texts_fit(archive: Archive, file: str, number: int, row: Row, most: Mapping[str, int]) -> bool:
    """Whether all texts of a row are short, and hold nothing that can't be seen.

    What does not fit is noted. ``most`` are the longest texts of columns that have a limit of
    their own.
    """
    for name, text in row.items():
        if text.isascii() and text.isprintable() and len(text) <= _SHORT:
            continue
        longest = most.get(name, _MOST_TEXT)
        rest = text.replace("\n", " ").replace("\t", " ")
        if len(text) > longest or not rest.isprintable():
            expected = f"at most {longest} signs that can be seen"
            place = f"row {number}, {name}"
            archive.fault(file, place, expected, shown(text), _REMEDY)
            return False
    return True


def _value(name: str, text: str) -> str | int | float:
    """Return the value of a field of a line; what can't be one raises."""
    if name in _TEXTS:
        if (name == "form" and len(text) > _SHORT) or (name == "photo" and not _HASH.match(text)):
            raise ValueError(text)
        return text
    value = float(text)
    # What is no number is within no bounds.
    if not abs(value) < _MOST_NUMBER:
        raise ValueError(text)
    if name not in _WHOLE:
        return value
    if not value.is_integer():
        raise ValueError(text)
    return int(value)


def _entry(id_: str) -> tuple[int, str]:
    """Return the number of the entry that an id ends in."""
    end = id_.rpartition(":r")[2]
    return (int(end[:12]) if end.isascii() and end.isdigit() else 0), id_
