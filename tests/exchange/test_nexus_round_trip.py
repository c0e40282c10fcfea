"""The matrix of a reference as NEXUS: what another reader makes of it, and back."""

from __future__ import annotations

import warnings
from functools import cache

import dendropy
import pytest
from hypothesis import given, settings

from corallum.exchange.nexus.matrix import SYMBOLS, Matrix
from corallum.exchange.nexus.read import read_matrix
from corallum.exchange.nexus.tables import tables_of_matrix
from corallum.exchange.nexus.write import matrix_of, nexus_text
from corallum.exchange.reference_tables import Reading
from corallum.reference.reference import Reference, parse_reference
from corallum.store.reference_folder import shipped_reference
from matrix_tables import MIXTURES, Tables, character, references, small_rows, tables_of


@cache
def shipped() -> dict[str, str]:
    """The shipped tables."""
    return shipped_reference()


@pytest.fixture(scope="module")
def reference() -> Reference:
    """The shipped reference."""
    return parse_reference(shipped())


def small(least: str = "sometimes", sizes: str = "leave-out") -> tuple[Matrix, tuple[str, ...]]:
    """The matrix of two invented genera."""
    return matrix_of(parse_reference(tables_of(small_rows())), least, sizes)


def back(text: str) -> Reference:
    """A file read into a reference; of our own nothing is left out."""
    reading = Reading("file.nex")
    tables = tables_of_matrix(read_matrix(text, reading), reading, shipped())
    assert reading.left_out == {}
    return parse_reference(tables)


def test_a_row_is_a_form_and_a_cell_what_it_often_shows() -> None:
    """By hand: red alone; blunt or sharp; grey or blue; the tip makes no sense without red."""
    matrix, left_out = small()
    assert matrix.taxa == ("Alpha, mound", "Alpha, plate", "Beta")
    assert [one.name for one in matrix.characters] == ["colour", "tip"]
    assert matrix.cells == (((0,), None), ((0,), (0, 1)), ((1, 2), ()))
    assert left_out == ("width_mm",)


@pytest.mark.parametrize(
    ("least", "alpha", "beta"),
    [
        pytest.param("usually", (0,), (2,), id="usually"),
        pytest.param("often", (0,), (2,), id="often"),
        pytest.param("sometimes", (0,), (1, 2), id="sometimes"),
        pytest.param("rarely", (0, 1), (1, 2), id="rarely"),
    ],
)
def test_the_least_frequent_word_decides(
    least: str, alpha: tuple[int, ...], beta: tuple[int, ...]
) -> None:
    """``always red; rarely blue`` and ``usually grey; sometimes blue``, at each threshold."""
    matrix, _ = small(least)
    assert (matrix.cells[0][0], matrix.cells[2][0]) == (alpha, beta)


def test_where_no_state_is_frequent_enough_the_most_frequent_are_scored() -> None:
    """``often blunt; often sharp`` at the threshold ``usually`` scores both."""
    matrix, _ = small("usually")
    assert matrix.cells[1][1] == (0, 1)


def test_sizes_become_classes_that_double() -> None:
    """From 0.1 mm on, 2.5 to 10 mm reaches from class 4 (1.6 to 3.2) into class 6 (6.4 to 12.8)."""
    matrix, left_out = small(sizes="classes")
    width = matrix.characters[2]
    assert width.name == "width_mm_class"
    assert width.states[4:7] == ("1.6 to 3.2 mm", "3.2 to 6.4 mm", "6.4 to 12.8 mm")
    assert [row[2] for row in matrix.cells] == [None, (4, 5, 6), None]
    assert left_out == ()


def test_a_range_that_ends_at_an_edge_stays_in_its_class() -> None:
    """From 1.6 to 3.2 mm is the whole of class 4, and no part of its neighbours."""
    rows = small_rows()
    for row in rows["values"]:
        if row["character"] == "width_mm":
            row["value"] = "1.6-3.2"
    matrix, _ = matrix_of(parse_reference(tables_of(rows)), sizes="classes")
    assert matrix.cells[1][2] == (4,)


def test_a_quote_in_a_name_comes_back() -> None:
    """A quote within a name is doubled in the file, and single again when read."""
    tables = {n: text.replace("Beta", "Be'ta") for n, text in tables_of(small_rows()).items()}
    matrix, _ = matrix_of(parse_reference(tables))
    text = nexus_text(matrix, [])
    assert "    'Be''ta'" in text.splitlines()
    assert read_matrix(text, Reading("file.nex")) == matrix


def test_a_character_of_more_states_than_symbols_is_left_out_and_named() -> None:
    """There are 36 symbols where case makes no difference; a 37th state has none."""
    rows = small_rows()
    for id_, n in (("many", 36), ("too_many", 37)):
        states = [f"s{k}" for k in range(n)]
        rows["characters"].append(character(id_, states))
        rows["states"] += [
            {"character": id_, "state": one, "label": one, "definition": one} for one in states
        ]
        rows["values"].append(
            {
                "genus": "Beta",
                "form": "*",
                "character": id_,
                "value": "always s35",
                "source": "memory",
            }
        )
    matrix, left_out = matrix_of(parse_reference(tables_of(rows)))
    assert left_out == ("width_mm", "too_many")
    assert "    'Beta'          (12)-Z" in nexus_text(matrix, []).splitlines()


def test_the_text_says_what_it_is() -> None:
    """Blocks, dimensions, labels and rows stand as the format has them, one taxon a line."""
    lines = nexus_text(small()[0], ["A [bracketed] remark."]).splitlines()
    assert lines[:3] == ["#NEXUS", "[", "  A (bracketed) remark."]
    for line in (
        "BEGIN TAXA;",
        "  DIMENSIONS NTAX=3;",
        "    'Alpha, mound'",
        "BEGIN CHARACTERS;",
        "  DIMENSIONS NCHAR=2;",
        '  FORMAT DATATYPE=STANDARD MISSING=? GAP=- SYMBOLS="012";',
        "    1 'colour' / 'red' 'blue' 'grey',",
        "    2 'tip' / 'sharp' 'blunt'",
        "    'Alpha, mound'  0?",
        "    'Alpha, plate'  0(01)",
        "    'Beta'          (12)-",
        "  APPLIES 'tip' 'colour' 'red';",
    ):
        assert line in lines


def test_another_reader_finds_the_same_states(reference: Reference) -> None:
    """The reader dendropy 5.1 reads the whole shipped matrix to the same states, cell by cell."""
    matrix, _ = matrix_of(reference)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the reader's own making
        found = dendropy.StandardCharacterMatrix.get(data=nexus_text(matrix, ["x"]), schema="nexus")
    assert [taxon.label for taxon in found.taxon_namespace] == list(matrix.taxa)
    for name, row in zip(matrix.taxa, matrix.cells, strict=True):
        for cell, state in zip(row, found[name], strict=True):
            if cell:
                signs = {str(one) for one in state.fundamental_states}
                assert signs == {SYMBOLS[n] for n in cell}
            else:
                assert str(state) == ("?" if cell is None else "-")


def test_the_shipped_matrix_comes_back(reference: Reference) -> None:
    """Out, in as a reference, and out again is the same text, for the whole shipped reference."""
    text = nexus_text(matrix_of(reference)[0], [])
    assert nexus_text(matrix_of(back(text))[0], []) == text


@settings(max_examples=40, deadline=None)
@given(references())
def test_any_small_matrix_comes_back(tables: Tables) -> None:
    """Out, in and out again gives the same matrix for random references."""
    matrix, _ = matrix_of(parse_reference(tables))
    assert matrix_of(back(nexus_text(matrix, [])))[0] == matrix


def test_the_mixtures_of_the_random_references_are_allowed() -> None:
    """Shares by hand (.96 .75 .4 .15 .03) add up to 0.7 to 1.3, as the tables must."""
    shares = {"always": 0.96, "usually": 0.75, "often": 0.4, "sometimes": 0.15, "rarely": 0.03}
    assert all(0.7 <= sum(shares[word] for word in words) <= 1.3 for words in MIXTURES)
