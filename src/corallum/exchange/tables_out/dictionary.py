"""The dictionary of every column of every plain table, and the page that explains the tables."""

from __future__ import annotations

from collections.abc import Mapping

from corallum.exchange.tables_out.bring_back import BRING_BACK
from corallum.exchange.tables_out.colony_columns import COLONY_TABLES
from corallum.exchange.tables_out.columns import Column, PlainTable
from corallum.exchange.tables_out.survey_columns import SURVEY_TABLES

__all__ = ["DICTIONARY", "TABLES", "dictionary_rows", "readme"]

TABLES: tuple[PlainTable, ...] = (*SURVEY_TABLES, *COLONY_TABLES)
DICTIONARY = PlainTable("data-dictionary", "Every column of every table, one a row.", (
    Column("table", "Which table."),
    Column("column", "Which column of it."),
    Column("meaning", "What stands in it."),
    Column("unit", "In which unit.", blank=True),
    Column("type", "What kind of value."),
    Column("allowed_values", "What may stand in it, or which column it refers to.", blank=True),
    Column("may_be_blank", "Whether it may be blank.", "yes or no"),
))  # fmt: skip


def dictionary_rows() -> list[dict[str, str | bool]]:
    """Return the rows of the dictionary, its own columns last."""
    return [
        {
            "table": table.name, "column": one.name, "meaning": one.meaning, "unit": one.unit,
            "type": one.kind, "allowed_values": one.values, "may_be_blank": one.blank,
        }
        for table in (*TABLES, BRING_BACK, DICTIONARY)
        for one in table.columns
    ]  # fmt: skip


def readme(name: str, facts: Mapping[str, str], rows: Mapping[str, int]) -> str:
    """Write the page that explains the tables.

    Parameters
    ----------
    name : str
        Of the programme.
    facts : mapping of str to str
        What was asked for, in words.
    rows : mapping of str to int
        Rows of each table by its name.
    """
    width = max(len(table.file) for table in TABLES)
    listed = "\n".join(
        f"  {table.file:<{width}}  {rows.get(table.name, 0):>7}  {table.meaning}"
        for table in TABLES
    )
    told = "\n".join(f"  {what}: {value}." for what, value in facts.items())
    return f"""Tables of the programme {name!r}

{told}

How to read them
  Each file is CSV: UTF-8, commas between cells, a header in the first row, one record a row.
  data-dictionary.csv says of every column what it means, its unit, its type, what may stand in
  it and whether it may be blank.
  A list stands in one cell with | between its parts. Moments are UTC.
  A text that a spreadsheet would run as a formula (it begins with = + - @, a tab or a carriage
  return) has an apostrophe before it; take one apostrophe off such a text to have it as it was.
  A text that already began with apostrophes and such a sign got one more. Numbers have none.
  Cells may hold line breaks; they then stand in quotes.

Tables and their rows
{listed}

What to keep in mind
  Numbers of entries (slate, determination and so on) are those of the programme's history.
  People stand as numbers; free texts may still hold names that somebody wrote there.
  Determinations are opinions, each with its date: none replaces an older one. Where a colony
  can't be named in the water, the status says so.
  bring-back/ holds, where names of people were asked for, a table for each survey that
  corallum survey import takes again: slates that stand, and every line of them.
"""
