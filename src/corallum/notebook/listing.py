"""Tables that show themselves: text in a terminal, HTML in a notebook, a data frame on request.

The HTML has no script and no colours of its own, so that it reads in dark and light; all
text that came from outside is escaped.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import TYPE_CHECKING, Any

from corallum.notebook.frames import to_frame

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Field", "Listing", "Shown", "chance", "figure", "listing", "number", "words"]

_MOST_TEXT, _MOST_HTML = 12, 40
# A longer cell is cut in a terminal.
_MOST_WIDE = 40
_NONE = "–"


def words(id_: object) -> str:
    """Turn an id into words."""
    return _NONE if id_ is None or id_ == "" else str(id_).replace("_", " ")


def number(value: float | None, digits: int = 3) -> str:
    """Write a number with so many digits after the point, with a true minus."""
    if value is None or not math.isfinite(value):
        return _NONE
    text = f"{value:.{digits}f}"
    return (text if float(text) else text.lstrip("-")).replace("-", "−")


def chance(share: float | None) -> str:
    """Write a share as percent; what is neither sure nor impossible is never said to be."""
    if share is None or not math.isfinite(share):
        return _NONE
    if 0 < share < 0.001:
        return "<0.1%"
    if 0.999 < share < 1:
        return ">99.9%"
    return f"{100 * share:.1f}%".replace("-", "−")


def figure(value: float, low: float, high: float) -> str:
    """Write an estimate with its interval."""
    if not math.isfinite(low):
        return number(value, 2)
    end = number(high, 2) if high < 1e4 else "no end"
    return f"{number(value, 2)} ({number(low, 2)} to {end})"


@dataclass(frozen=True, slots=True)
class Field:
    """One column as it is shown, and the columns of the data frame that it stands for.

    Parameters
    ----------
    head : str
        Its head; empty: it stands in the data frame only.
    values : mapping of str to callable
        Columns of the data frame: what each takes from an item.
    show : callable
        Text of an item.
    is_number : bool
        Whether it is set to the right.
    is_genus : bool
        Whether it holds names of genera, which are set in italics.
    is_extra : bool
        Whether a terminal, which is narrow, does without it.
    """

    head: str
    values: Mapping[str, Callable[[Any], object]]
    show: Callable[[Any], str]
    is_number: bool = False
    is_genus: bool = False
    is_extra: bool = False


class Shown:
    """What shows itself: a sentence, one or more tables, and notes."""

    @property
    def lead(self) -> str:
        """What it tells, in a sentence; may be empty."""
        return ""

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know when reading it."""
        return ()

    def listings(self) -> Sequence[Listing]:
        """Return its tables, the most important first."""
        raise NotImplementedError

    def table(self) -> pd.DataFrame:
        """Return the first of its tables as a data frame, whole and with unrounded numbers.

        Returns
        -------
        pandas.DataFrame
            One row an item; what there is none of is missing.

        Raises
        ------
        InputError
            Where pandas, the extra ``notebook``, is not installed.
        """
        first = self.listings()[0]
        return to_frame(first.columns, first.values)

    def __repr__(self) -> str:
        parts = [self.lead] if self.lead else []
        parts += [_text(one) for one in self.listings()[:1]]
        return "\n".join([*parts, *self.notes])

    def _repr_html_(self) -> str:
        parts = [f"<p><strong>{escape(self.lead)}</strong></p>"] if self.lead else []
        parts += [_html(one) for one in self.listings()]
        parts += [f"<p>{escape(note)}</p>" for note in self.notes]
        return "\n".join(parts)


@dataclass(frozen=True, slots=True, repr=False)
class Listing(Shown):
    """One table.

    Parameters
    ----------
    caption : str
        What it holds.
    heads : tuple of str
        Heads of the columns as shown.
    rows : tuple of tuple of str
        Cells as shown.
    fields : tuple of Field
        How each shown column is set.
    columns : tuple of str
        Columns of the data frame.
    values : tuple of tuple
        Its cells.
    most : int
        Rows that are shown at most.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    fields: tuple[Field, ...]
    columns: tuple[str, ...]
    values: tuple[tuple[object, ...], ...]
    most: int = _MOST_HTML

    def listings(self) -> Sequence[Listing]:
        """Return itself."""
        return (self,)

    def head(self, most: int) -> Listing:
        """Return the table, no more than so many of its rows shown.

        Parameters
        ----------
        most : int
            How many rows to show.

        Returns
        -------
        Listing
            ``table()`` still holds all of them.
        """
        return replace(self, most=most)

    def __len__(self) -> int:
        return len(self.rows)


def listing(caption: str, fields: Sequence[Field], items: Iterable[Any]) -> Listing:
    """Make a table of items.

    Parameters
    ----------
    caption : str
        What it holds.
    fields : sequence of Field
        Its columns, from left to right; the first names the row.
    items : iterable
        What the fields take their values from.

    Returns
    -------
    Listing
        As many rows as there are items.
    """
    every = list(items)
    shown = tuple(one for one in fields if one.head)
    takers = {name: take for one in fields for name, take in one.values.items()}
    return Listing(
        caption, tuple(one.head for one in shown),
        tuple(tuple(one.show(item) for one in shown) for item in every),
        shown, tuple(takers),
        tuple(tuple(take(item) for take in takers.values()) for item in every),
    )  # fmt: skip


def _rest(table: Listing, most: int) -> str:
    """Say how many rows are not shown."""
    more = len(table.rows) - min(most, table.most)
    return f"{more} more; table() holds all." if more > 0 else ""


def _text(table: Listing) -> str:
    """Write a table for a terminal, its longest part left to ``table()``."""
    if not table.rows:
        return f"{table.caption}: none."
    kept = [k for k, field in enumerate(table.fields) if not field.is_extra]
    most = min(_MOST_TEXT, table.most)
    rows = [[_cut(row[k]) for k in kept] for row in (table.heads, *table.rows[:most])]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    right = [table.fields[k].is_number for k in kept]
    lines = [table.caption]
    for row in rows:
        cells = [
            cell.rjust(wide) if is_right else cell.ljust(wide)
            for cell, wide, is_right in zip(row, widths, right, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(one for one in (*lines, _rest(table, _MOST_TEXT)) if one)


def _cut(cell: str) -> str:
    """Return a cell on one line, cut where it is long."""
    line = _line(cell)
    return line if len(line) <= _MOST_WIDE else f"{line[: _MOST_WIDE - 1]}…"


def _line(cell: str) -> str:
    """Return a cell on one line: what came from outside may try to hold several."""
    return cell if cell.isprintable() else "".join(c if c.isprintable() else "?" for c in cell)


def _html(table: Listing) -> str:
    """Write a table for a notebook: caption, heads of columns and rows, scrolled if too wide."""
    if not table.rows:
        return f"<p>{escape(table.caption)}: none.</p>"
    head = "".join(
        f'<th scope="col" style="{_style(field)};border-bottom:1px solid">{escape(name)}</th>'
        for name, field in zip(table.heads, table.fields, strict=True)
    )
    body = "\n".join(_html_row(table, row) for row in table.rows[: table.most])
    rest = _rest(table, table.most)
    caption = escape(table.caption)
    return (
        f'<div role="group" aria-label="{caption}" tabindex="0" '
        'style="overflow-x:auto;margin-bottom:1em">\n'
        '<table style="border-collapse:collapse">\n'
        f'<caption style="text-align:left;caption-side:top;padding:4px 0">{caption}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>\n</div>"
        + (f"\n<p>{rest}</p>" if rest else "")
    )


def _html_row(table: Listing, row: Sequence[str]) -> str:
    """Write one row."""
    cells = []
    for k, (cell, field) in enumerate(zip(row, table.fields, strict=True)):
        tag, scope = ("th", ' scope="row"') if k == 0 else ("td", "")
        text = escape(_line(cell))
        # A genus is one word; "something else" and "All stony coral" are none.
        if field.is_genus and cell.isalpha():
            text = f"<i>{text}</i>"
        style = _style(field)
        if field.is_number or k == 0:
            style += ";white-space:nowrap"
        cells.append(f'<{tag}{scope} style="{style}">{text}</{tag}>')
    return f"<tr>{''.join(cells)}</tr>"


def _style(field: Field) -> str:
    """Set a column: words to the left, numbers to the right, room between."""
    side = "right" if field.is_number else "left"
    return f"text-align:{side};vertical-align:top;padding:3px 16px 3px 0"
