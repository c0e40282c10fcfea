"""Everything that a programme holds as plain tables, with a dictionary of every column."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from corallum.actions.colony_table_rows import ColonyRows, photo_table
from corallum.actions.survey_table_rows import PeopleNumbers, SurveyRows
from corallum.exchange.coordinates import EXACT, CoordinateRule
from corallum.exchange.tables_out.bring_back import back_table, file_name
from corallum.exchange.tables_out.colony_columns import COLONY_TABLES
from corallum.exchange.tables_out.columns import Value
from corallum.exchange.tables_out.dictionary import DICTIONARY, TABLES, dictionary_rows, readme
from corallum.exchange.tables_out.survey_columns import SURVEY_TABLES
from corallum.exchange.tables_out.writer import TablesOut, open_tables
from corallum.store.colonies import colony_ids, load_colony
from corallum.store.database import Connection
from corallum.store.programme import Programme

__all__ = ["ExportTables", "TablesFound", "export_tables"]

Row = Mapping[str, Value]
# What somebody wrote in their own words: it may tell where something is.
_FREE = ("note", "caption", "question", "reason")


@dataclass(frozen=True, slots=True)
class ExportTables:
    """What to write.

    Parameters
    ----------
    target : Path
        New folder; or new zip, where its name ends so.
    rule : CoordinateRule
        How exactly positions are told.
    named : bool
        Whether names of people are told; else they are numbers.
    """

    target: Path
    rule: CoordinateRule = EXACT
    named: bool = False


@dataclass(frozen=True, slots=True)
class TablesFound:
    """Rows of each table by its name, and the tables that an import takes again."""

    rows: Mapping[str, int]
    bring_back: tuple[str, ...]


def export_tables(
    programme: Programme, command: ExportTables, progress: Callable[[float], None] = lambda _: None
) -> TablesFound:
    """Write all tables of a programme to a new folder or zip.

    Parameters
    ----------
    programme : Programme
        To read.
    command : ExportTables
        What to write, and where.
    progress : callable
        Is told the share done, 0 to 1.

    Raises
    ------
    InputError
        Where the target is there already, or can't be written: then nothing is.
    """
    with open_tables(command.target) as out, programme.read() as connection:
        numbers = PeopleNumbers(connection, named=command.named)
        survey_rows = SurveyRows(connection, numbers, command.rule)
        rows = _survey_tables(out, survey_rows)
        rows |= _colony_tables(out, programme, connection, (numbers, command.rule), progress)
        back = _bring_back(out, survey_rows, command.rule) if command.named else ()
        out.table(DICTIONARY.file, DICTIONARY.header, map(DICTIONARY.cells, dictionary_rows()))
        out.text("README.txt", readme(programme.settings.name, _facts(command), rows))
    progress(1.0)
    return TablesFound({table.name: rows[table.name] for table in TABLES}, back)


def _facts(command: ExportTables) -> dict[str, str]:
    """Say what was asked for."""
    notes = "as written" if command.rule.exact else "left out, as they may tell positions"
    return {
        "Positions": command.rule.withheld or command.rule.generalised or "as kept, on WGS84",
        "Notes, captions, questions, reasons": notes,
        "People": "by number and name" if command.named else "by number, without their names",
    }


def _told(row: Row, rule: CoordinateRule) -> Row:
    """Return a row as it may be told: without free texts unless positions are exact."""
    if rule.exact:
        return row
    free = ("text", *_FREE) if row.get("kind") == "note" else _FREE
    return {name: None if name in free else value for name, value in row.items()}


def _survey_tables(out: TablesOut, rows: SurveyRows) -> dict[str, int]:
    """Write the tables of places, people and surveys; each is a method of its rows."""
    found = {}
    for table in SURVEY_TABLES:
        made: Iterator[Row] = getattr(rows, table.name)()
        found[table.name] = out.table(
            table.file, table.header, (table.cells(_told(row, rows.rule)) for row in made)
        )
    return found


def _colony_tables(
    out: TablesOut,
    programme: Programme,
    connection: Connection,
    telling: tuple[PeopleNumbers, CoordinateRule],
    progress: Callable[[float], None],
) -> dict[str, int]:
    """Write the tables of colonies in one pass over them."""
    numbers, rule = telling
    tables = {table.name: table for table in COLONY_TABLES}
    cells: dict[str, list[list[str | int | float | None]]] = {name: [] for name in tables}
    ids = tuple(colony_ids(connection, withdrawn=True))
    maker = ColonyRows(numbers)
    for done, id_ in enumerate(ids, start=1):
        for name, row in maker.all(load_colony(connection, id_)):
            cells[name].append(tables[name].cells(_told(row, rule)))
        progress(done / (len(ids) + 1))
    cells["photos"] = list(map(tables["photos"].cells, photo_table(programme, connection)))
    return {
        name: out.table(table.file, table.header, iter(cells[name]))
        for name, table in tables.items()
    }


def _bring_back(out: TablesOut, rows: SurveyRows, rule: CoordinateRule) -> tuple[str, ...]:
    """Write the slates of each survey as an import takes them."""
    files = []
    for number, (survey, plan) in enumerate(rows.plans.items(), start=1):
        slates = rows.back_slates(survey)
        if slates:
            file = file_name(number, rows.event_names[survey])
            header, cells = back_table(slates, plan.method)
            if not rule.exact:
                kept = [i for i, name in enumerate(header) if name not in _FREE]
                header = tuple(header[i] for i in kept)
                cells = [[row[i] for i in kept] for row in cells]
            out.table(file, header, iter(cells))
            files.append(file)
    return tuple(files)
