"""Answers to a practice set out of CSV text, all faults at once by row and column."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from corallum.errors import Fault, InputError, UnknownNameError
from corallum.exchange.colonies import BadColony, read_csv
from corallum.exchange.practice import FIRST_COLUMNS
from corallum.exchange.sheet import Sheet, shown
from corallum.model.compiled import CompiledReference
from corallum.model.evidence import read_colony
from corallum.practice.item import PracticeAnswer
from corallum.records.colony import Colony, Report

__all__ = ["MOST_GENERA", "GivenAnswer", "read_answers"]

MOST_GENERA = 10
_NEEDED = ("observer", "item", "genera", "confidence")
_MOST_SECONDS = 24 * 3600.0
_MOST_NAME = 120
_NUMBER = re.compile(r"(\d{1,9}\.?\d{0,12}|\.\d{1,12})")


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """What one observer said of one item, counted from 1, and the row where it stands."""

    observer: str
    item: int
    answer: PracticeAnswer
    row: int


def read_answers(
    text: str, file: str, n_items: int, compiled: CompiledReference, find: Callable[[str], str]
) -> tuple[GivenAnswer, ...]:
    """Read a table of answers.

    Parameters
    ----------
    text : str
        CSV, a header in the first row: observer, item, genera, confidence, seconds (which
        may be left out), then ids of characters as in a table of colonies. A row without
        genera, confidence and looks was not answered.
    file : str
        What to call the file in a fault.
    n_items : int
        Items of the set.
    compiled : CompiledReference
        Which must know every character and state.
    find : callable
        Returns the genus of today that a name means, or raises UnknownNameError.

    Returns
    -------
    tuple of GivenAnswer
        In the order of the rows.

    Raises
    ------
    InputError
        With every fault by row and column; the first 100, and how many more there are.
    """
    sheet = Sheet(file, _NEEDED)
    reader = _Reader(sheet, n_items, compiled, find)
    rows = (reader.answer(*row) for row in sheet.rows(text, reader.columns))
    found = [one for one in rows if one is not None]
    sheet.check()
    if not found:
        remedy = f"Write a header {','.join(FIRST_COLUMNS)} and one answer per row."
        raise InputError([Fault(file, "", "answers", "none at all", remedy)])
    return tuple(found)


class _Reader:
    """Reads the rows of one table."""

    def __init__(
        self, sheet: Sheet, n_items: int, compiled: CompiledReference, find: Callable[[str], str]
    ) -> None:
        self.sheet, self.n_items, self.compiled, self.find = sheet, n_items, compiled, find
        self.looks: tuple[str, ...] = ()
        self.places: dict[tuple[str, int], int] = {}

    def columns(self, names: list[str], place: str) -> None:
        """Find columns that are no ids of characters, and keep those that are."""
        known = {*self.compiled.character_index, *(view.id for view in self.compiled.views)}
        self.looks = tuple(name for name in names if name and name not in FIRST_COLUMNS)
        for name in self.looks:
            base, dot, part = name.rpartition(".")
            measured = bool(dot) and part in ("n", "method")
            if (base if measured else name) not in known:
                remedy = "See corallum reference show."
                self.sheet.fault(place, "an id of a character", shown(name), remedy)
            elif measured and base not in names:
                self.sheet.fault(place, f"a column {base} beside {name}", "none", "Add it.")

    def answer(self, number: int, row: Mapping[str, str]) -> GivenAnswer | None:
        """Return one answer, or None with its faults, or where nothing was answered."""
        names = ("genera", "confidence", *self.looks)
        if not any(row[name] for name in names):
            return None
        before = self.sheet.n_faults
        observer, item = self._observer(number, row["observer"]), self._item(number, row["item"])
        genera = self._genera(number, row["genera"])
        confidence = self._confidence(number, row["confidence"])
        seconds = self._seconds(number, row.get("seconds", ""))
        reports = self._reports(number, row)
        if self.sheet.n_faults > before:
            return None
        first = self.places.setdefault((observer, item), number)
        if first != number:
            place = f"row {number}, item"
            expected = "one answer of an observer to an item"
            self.sheet.fault(place, expected, f"a second, after row {first}", "Keep one.")
            return None
        return GivenAnswer(
            observer, item, PracticeAnswer(genera, confidence, reports, seconds), number
        )

    def _observer(self, number: int, cell: str) -> str:
        """Return who answered."""
        if not cell or not cell.isprintable() or len(cell) > _MOST_NAME:
            expected = f"1 to {_MOST_NAME} characters on one line"
            found = shown(cell) if cell else "nothing"
            self.sheet.fault(f"row {number}, observer", expected, found, "Write who answered.")
        return cell

    def _item(self, number: int, cell: str) -> int:
        """Return the item, counted from 1."""
        whole = cell.isascii() and cell.isdecimal() and len(cell) < 10
        if whole and 1 <= int(cell) <= self.n_items:
            return int(cell)
        expected = f"an item from 1 to {self.n_items}"
        self.sheet.fault(f"row {number}, item", expected, shown(cell) if cell else "nothing")
        return 0

    def _genera(self, number: int, cell: str) -> tuple[str, ...]:
        """Return the genera named; none is "not in the reference"."""
        names = [name.strip() for name in cell.split("|") if name.strip()]
        place, found = f"row {number}, genera", []
        if len(names) > MOST_GENERA:
            expected = f"at most {MOST_GENERA} genera"
            self.sheet.fault(place, expected, str(len(names)), "Name fewer.")
            return ()
        for name in names:
            try:
                found.append(self.find(name))
            except UnknownNameError as error:
                near = " or ".join(error.nearest)
                remedy = f"Did you mean {near}?" if near else "Check the spelling."
                self.sheet.fault(place, "a genus of the reference", shown(name), remedy)
        return tuple(dict.fromkeys(found))

    def _confidence(self, number: int, cell: str) -> float:
        """Read .8 or 80 %: a bare number is a share, a % sign makes it a hundredth."""
        text = cell.removesuffix("%").strip()
        if _NUMBER.fullmatch(text):
            value = float(text) / (100.0 if cell.endswith("%") else 1.0)
            if value <= 1.0:
                return value
        expected = "a confidence from 0 to 1, or from 0 % to 100 %"
        found, remedy = shown(cell) if cell else "nothing", "Write .8 or 80 %."
        self.sheet.fault(f"row {number}, confidence", expected, found, remedy)
        return 0.0

    def _seconds(self, number: int, cell: str) -> float | None:
        """Read the time taken."""
        if not cell:
            return None
        if _NUMBER.fullmatch(cell) and float(cell) <= _MOST_SECONDS:
            return float(cell)
        expected = f"seconds, 0 to {_MOST_SECONDS:g}"
        self.sheet.fault(f"row {number}, seconds", expected, shown(cell), "Leave it blank.")
        return None

    def _reports(self, number: int, row: Mapping[str, str]) -> Mapping[str, Report]:
        """Read what was seen, by the reader of tables of colonies."""
        out = io.StringIO(newline="")
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["id", *self.looks])
        table.writerow(["row", *(row[name] for name in self.looks)])
        colony = next(read_csv(out.getvalue().splitlines(), self.sheet.file))
        if isinstance(colony, BadColony):
            for fault in colony.faults:
                self._keep(replace(fault, place=fault.place.removeprefix("row 2, ")), number)
            return {}
        try:
            read_colony(self.compiled, Colony("", colony.observations))
        except InputError as error:
            for fault in error.faults:
                self._keep(fault, number)
        return colony.observations

    def _keep(self, fault: Fault, number: int) -> None:
        """Keep a fault of a look, with its row."""
        place = f"row {number}, {fault.place}"
        self.sheet.fault(place, fault.expected, fault.found, fault.remedy)
