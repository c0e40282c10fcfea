"""An edit of one cell leaves every other byte of a table as it stands."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError, NotFoundError
from corallum.store.reference_copy import add_line, edit_line, find_row

CELLS = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\n"), max_size=8)
TABLES = st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=6)


def table(rows: list[tuple[str, str, str]], ending: str) -> str:
    """A table with the columns a, b and c."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator=ending)
    writer.writerow(("a", "b", "c"))
    writer.writerows(rows)
    return stream.getvalue()


def read(text: str) -> list[list[str]]:
    """Rows of a table, the header left out."""
    return list(csv.reader(io.StringIO(text, newline="")))[1:]


@given(TABLES, st.sampled_from(["\n", "\r\n"]), st.data())
def test_one_cell_changes(
    rows: list[tuple[str, str, str]], ending: str, data: st.DataObject
) -> None:
    """After the edit one cell is new, the others are as before, and so are the other lines."""
    text = table(rows, ending)
    row = data.draw(st.integers(0, len(rows) - 1))
    value = data.draw(CELLS)
    edited = edit_line(text, row + 2, {"b": value})
    wanted = [list(cells) for cells in rows]
    wanted[row][1] = value
    assert read(edited) == wanted
    before = table(rows[:row], ending)
    assert edited.startswith(before)


@given(TABLES, st.sampled_from(["\n", "\r\n"]), st.data())
def test_a_row_goes_and_comes(
    rows: list[tuple[str, str, str]], ending: str, data: st.DataObject
) -> None:
    """A row removed is gone, and a row added at the end is the last."""
    text = table(rows, ending)
    row = data.draw(st.integers(0, len(rows) - 1))
    without = edit_line(text, row + 2, None)
    assert read(without) == [list(cells) for i, cells in enumerate(rows) if i != row]
    more = add_line(text, {"a": "x", "c": "z"}, lambda _: False)
    assert more == text + f"x,,z{ending}"


def test_a_row_is_added_beside_its_kin() -> None:
    """A new row stands after the last of those that it belongs to."""
    text = "a,b\nFavites,1\nFavites,2\nPorites,3\n"
    added = add_line(text, {"a": "Favites", "b": "9"}, lambda row: row["a"] == "Favites")
    assert added == "a,b\nFavites,1\nFavites,2\nFavites,9\nPorites,3\n"


def test_a_table_without_a_last_line_end_gets_one() -> None:
    """A row is never written on to the end of another."""
    assert add_line("a,b\n1,2", {"a": "3", "b": "4"}, lambda _: False) == "a,b\n1,2\n3,4\n"


def test_a_row_is_found_by_its_cells() -> None:
    """The number is that of the spreadsheet, the header being row 1."""
    text = 'a,b\n"two\nlines",1\nx,2\n'
    assert find_row(text, {"a": "x", "b": "2"}) == 3
    assert find_row(text, {"a": "x", "b": "1"}) is None


def test_rows_and_columns_that_are_not_there() -> None:
    """The header can't be edited, and unknown columns are named."""
    for number in (0, 1, 4, 10**9):
        with pytest.raises(NotFoundError):
            edit_line("a,b\n1,2\n3,4\n", number, {"a": ""})
    with pytest.raises(InputError, match="one of the columns a, b"):
        edit_line("a,b\n1,2\n", 2, {"c": ""})
