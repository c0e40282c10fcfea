"""The form of an import: the table that is looked at, and what was said of its columns."""

from __future__ import annotations

import csv
import hashlib
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from corallum.errors import Fault, InputError
from corallum.exchange.survey_columns import (
    ROLES,
    UNITS,
    Columns,
    column_faults,
    guess_columns,
)
from corallum.records.survey import Method

__all__ = ["ImportForm", "Table", "Tables", "columns_of", "meanings_text", "roles_of"]

_MOST_BYTES = 20_000_000
_MOST_TABLES = 4
_MOST_COLUMNS = 200
_ROWS_SHOWN = 3
_MOST_CELL = 40


@dataclass(frozen=True, slots=True)
class Table:
    """A table that somebody brought; ``token`` is the hash of its text."""

    token: str
    file: str
    text: str

    @property
    def header(self) -> list[str]:
        """Headers of the columns, as in the first row; a blank table has none."""
        rows = self.first(0)
        return [name.strip() for name in rows[0][:_MOST_COLUMNS]] if rows else []

    @property
    def n_rows(self) -> int:
        """Rows under the header that are not blank."""
        return max(sum(1 for line in self.text.splitlines() if line.strip()) - 1, 0)

    def first(self, most: int = _ROWS_SHOWN) -> list[list[str]]:
        """Return the header and the first rows, their cells cut short."""
        found = []
        for line in self.text.splitlines():
            if line.strip():
                found.append(_cells(line))
            if len(found) > most:
                break
        return found


def _cells(line: str) -> list[str]:
    """Return the cells of one row; one that is no CSV is a single cell."""
    try:
        return next(csv.reader([line]), [])
    except csv.Error:
        return [line[:_MOST_CELL]]


class Tables:
    """Tables between two looks at them, kept in memory only; the oldest go first."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Table] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, file: str, data: bytes) -> Table:
        """Keep a table.

        Raises
        ------
        InputError
            Where it is too large, or not UTF-8.
        """
        name = "".join(one for one in file if one.isprintable()).strip()[-80:] or "pasted table"
        if len(data) > _MOST_BYTES:
            found = f"{len(data) / 1e6:.0f} MB"
            expected = f"at most {_MOST_BYTES // 1_000_000} MB"
            raise InputError([Fault(name, "", expected, found, "Split it by site.")])
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            remedy = "Save it as CSV in UTF-8."
            raise InputError([Fault(name, "", "text in UTF-8", "other bytes", remedy)]) from error
        table = Table(hashlib.sha256(data).hexdigest()[:24], name, text)
        with self._lock:
            self._kept[table.token] = table
            self._kept.move_to_end(table.token)
            while len(self._kept) > _MOST_TABLES:
                self._kept.popitem(last=False)
        return table

    def get(self, token: str) -> Table | None:
        """Return a table that is still kept."""
        with self._lock:
            return self._kept.get(token)


@dataclass(frozen=True, slots=True)
class ImportForm:
    """What was said of a table, as it was typed."""

    roles: Mapping[str, str] = field(default_factory=dict)
    length_unit: str = "cm"
    diameter_unit: str = "cm"
    depth_unit: str = "m"
    dates: str = "iso"
    meanings: str = ""
    keep_as: str = ""
    kept: str = ""

    @classmethod
    def of(cls, typed: Mapping[str, str]) -> ImportForm:
        """Read the fields of a form, as they stand."""
        roles = {
            key.removeprefix("role."): value for key, value in typed.items()
            if key.startswith("role.") and value
        }  # fmt: skip
        units = {name: typed[name] for name in UNITS if typed.get(name)}
        rest = {
            name: typed[name] for name in ("dates", "meanings", "keep_as", "kept")
            if typed.get(name)
        }  # fmt: skip
        return cls(roles, **units, **rest)

    def with_guesses(self, table: Table, method: Method) -> ImportForm:
        """Guess what is not said, and drop columns that the table does not have."""
        header = table.header
        said = {role: column for role, column in self.roles.items() if column in header}
        free = [name for name in header if name not in said.values()]
        guessed = guess_columns(free, method) if not said else {}
        return replace(self, roles={**guessed, **said})

    def with_columns(self, columns: Columns) -> ImportForm:
        """Take columns that were kept; meanings that were typed go on."""
        typed = "\n".join(filter(None, [meanings_text(columns.meanings), self.meanings.strip()]))
        return replace(
            self, roles=dict(columns.roles), length_unit=columns.length_unit,
            diameter_unit=columns.diameter_unit, depth_unit=columns.depth_unit,
            dates=columns.dates, meanings=typed,
        )  # fmt: skip


def roles_of(method: Method) -> dict[str, str]:
    """Return the roles that a method uses, each in words."""
    return {
        role: text for role, text in ROLES.items()
        if not column_faults(Columns(method, {role: role}), "", complete=False)
    }  # fmt: skip


def columns_of(form: ImportForm, method: Method, file: str) -> Columns:
    """Read what was said of the columns.

    Raises
    ------
    InputError
        With every line of the meanings that can't be read, and every setting that can't be.
    """
    meanings, faults = _read_meanings(form.meanings)
    units = {name: getattr(form, name) for name in UNITS}
    columns = Columns(method, form.roles, dates=form.dates, meanings=meanings, **units)
    faults += column_faults(columns, file, complete=True)
    if faults:
        raise InputError(faults)
    return columns


def _read_meanings(text: str) -> tuple[dict[str, str], list[Fault]]:
    """Read lines of a word, =, and what it means."""
    found: dict[str, str] = {}
    faults = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        word, sign, meaning = (part.strip() for part in line.partition("="))
        if not sign or not word or not meaning:
            remedy = "Write it so, a word a line."
            place = f"line {number}"
            faults.append(Fault("meanings", place, "word = genus", repr(line[:40]), remedy))
        else:
            found[word] = meaning
    return found, faults


def meanings_text(meanings: Mapping[str, str]) -> str:
    """Write meanings as they could be typed."""
    return "\n".join(f"{word} = {meaning}" for word, meaning in meanings.items())
