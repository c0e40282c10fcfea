"""Whatever is done to a table, the loader gives a reference or its faults, nothing else."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from edit_tables import rows_of, small_tables, text_of
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import TableError
from corallum.model.compile import compile_reference
from corallum.reference.reference import Reference, parse_reference
from corallum.reference.tables import Faults, read_rows
from corallum.store.reference_folder import read_reference_folder

NAMES = sorted(small_tables())
WORDS = (
    "", "0", "1", "-1", "nan", "inf", "1e999", "1e-9", "0.5", "*", "|", "=", "-", "9-4", "4-9",
    "always", "not_applicable", "not_looked_at", "growth_form", "corallite_arrangement", "depth_m",
    "massive", "branching", "states", "size", "count", "shape", "w", "k", "atlantic", "Mussa",
    "growth_form = massive", "\ufeff", '"', "a,b", "\n", "\x00",
)  # fmt: skip
CELLS = st.one_of(st.sampled_from(WORDS), st.text(max_size=12))


def read(tables: Mapping[str, str]) -> Reference | None:
    """A reference, or None where the tables have faults; anything else is a defect."""
    try:
        return parse_reference(tables)
    except TableError:
        return None


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_any_cells_replaced_or_rows_dropped(data: st.DataObject) -> None:
    """Cells replaced and rows dropped or doubled give a reference that compiles, or faults."""
    name = data.draw(st.sampled_from(NAMES))
    rows = rows_of(small_tables()[name])
    for _ in range(data.draw(st.integers(1, 3))):
        number = data.draw(st.integers(0, len(rows) - 1))
        what = data.draw(st.sampled_from(("cell", "cell", "cell", "swap", "drop", "double")))
        if what == "drop" and len(rows) > 1:
            del rows[number]
        elif what == "double":
            rows.append(list(rows[number]))
        else:
            column = data.draw(st.integers(0, len(rows[number]) - 1))
            other = data.draw(st.integers(0, len(rows) - 1))
            cell = data.draw(CELLS) if what == "cell" else rows[other][column]
            rows[number][column] = cell
    found = read({**small_tables(), name: text_of(rows)})
    if found is not None:
        compiled = compile_reference(found)
        assert all(np.isfinite(character.true).all() for character in compiled.characters)
        assert all((character.true >= 0).all() for character in compiled.characters)
        assert all((character.flips >= -1e-12).all() for character in compiled.characters)


@given(st.sampled_from(NAMES), st.text(max_size=200))
@settings(max_examples=60, deadline=None)
def test_any_text_for_a_table(name: str, text: str) -> None:
    """Any text in place of a table gives a reference or faults."""
    read({**small_tables(), name: text})


@given(st.sampled_from(NAMES), st.data())
@settings(max_examples=60, deadline=None)
def test_any_piece_of_a_table_written_over(name: str, data: st.DataObject) -> None:
    """A piece of a table written over with any text gives a reference or faults."""
    text = small_tables()[name]
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 60)))
    read({**small_tables(), name: text[:start] + data.draw(st.text(max_size=20)) + text[end:]})


@given(st.sampled_from(NAMES), st.binary(max_size=8), st.data())
@settings(max_examples=40, deadline=None)
def test_any_bytes_in_a_table(
    tmp_path_factory: pytest.TempPathFactory, name: str, extra: bytes, data: st.DataObject
) -> None:
    """Any bytes within a file give a reference or faults, by way of the disk."""
    raw = small_tables()[name].encode()
    at = data.draw(st.integers(0, len(raw)))
    folder = tmp_path_factory.mktemp("bytes")
    (folder / "table.csv").write_bytes(raw[:at] + extra + raw[at:])
    try:
        text = read_reference_folder(folder)["table.csv"]
    except TableError:
        return
    read({**small_tables(), name: text})


@given(st.sets(st.sampled_from(NAMES), min_size=1))
@settings(max_examples=30, deadline=None)
def test_any_tables_missing(names: set[str]) -> None:
    """Any tables taken away give faults: no shipped table is idle."""
    left = {name: text for name, text in small_tables().items() if name not in names}
    assert read(left) is None


@given(st.text(), st.lists(st.text(min_size=1, max_size=5), max_size=4))
@settings(max_examples=100, deadline=None)
def test_any_text_is_rows_or_faults(text: str, columns: list[str]) -> None:
    """Reading rows raises nothing: every row has every cell of the header."""
    faults = Faults()
    rows = read_rows(text, "any.csv", tuple(columns), faults)
    for row in rows:
        assert set(columns) <= set(row.cells)
        assert all(cell == cell.strip() for cell in row.cells.values())
