"""NEXUS that is broken: every fault is named by line, and nothing breaks the reader."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_sdd_other import OTHER

from corallum.errors import CorallumError
from corallum.exchange.nexus.tables import tables_of_matrix
from corallum.exchange.reference_tables import Reading
from corallum.exchange.sdd.read import read_sdd
from corallum.reference.reference import parse_reference
from nexus_files import faults_of, file, read, shipped


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param("", "line 1: expected #NEXUS at the head", id="nothing"),
        pytest.param("#NEXUS", ": expected a block CHARACTERS", id="the head alone"),
        pytest.param("DIMENSIONS", "line 1: expected #NEXUS at the head", id="no head"),
        pytest.param("#NEXUS\nBEGIN TREES;\nEND;", ": expected a block CHARACTERS", id="no matrix"),
        pytest.param(
            file("A 01(01)?\nB 1001").replace("MATRIX", "OPTIONS"),
            "line 2: expected the command MATRIX",
            id="no command MATRIX",
        ),
        pytest.param(
            file("A 01(01)?\nB 100"), "line 7, taxon B: expected 4 cells, found 3", id="short"
        ),
        pytest.param(
            file("A 01(01)??\nB 1001"), "line 6, taxon A: expected 4 cells, found 5", id="long"
        ),
        pytest.param(
            file("A 0171\nB 1001"),
            "line 6, taxon A, character 3: expected symbols out of 01, ?, found '7'",
            id="a sign of no meaning",
        ),
        pytest.param(
            file("A 01(01?\nB 1001"), "line 6, taxon A, character 3: expected", id="half a bracket"
        ),
        pytest.param(
            file("A 01(01)?\nA 1001"), "line 7: expected one row of A", id="a taxon twice"
        ),
        pytest.param(
            file("A 01(01)?"),
            "line 5: expected 2 taxa, as NTAX says, found 1",
            id="a taxon too few",
        ),
        pytest.param(
            file("A 01(01)?\nC 1001").replace(
                "BEGIN DATA", "BEGIN TAXA; TAXLABELS A B; END; BEGIN CHARACTERS"
            ),
            "line 7: expected the name of a taxon, found 'C'",
            id="a taxon that is not listed",
        ),
        pytest.param(
            file("A 01(01)?").replace(
                "BEGIN DATA", "BEGIN TAXA; TAXLABELS A B; END; BEGIN CHARACTERS"
            ),
            "line 5: expected a row for every taxon, found none for B",
            id="a listed taxon without a row",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001").replace("NCHAR=4", "NCHAR=four"),
            "line 3: expected a whole number in NCHAR",
            id="a number in words",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001").replace("NCHAR=4", "NCHAR=" + "9" * 5000),
            "line 3: expected a whole number in NCHAR",
            id="a number without end",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001").replace(" NCHAR=4", ""),
            "line 5: expected the number of characters",
            id="no NCHAR",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001", "DATATYPE=DNA"),
            "line 4: expected DATATYPE=STANDARD, found DNA",
            id="another type",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001", "TRANSPOSE"),
            "line 4: expected rows of taxa",
            id="on its side",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001", "TOKENS"),
            "line 4: expected cells written with symbols",
            id="names for cells",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001", more="CHARSTATELABELS 9 x / a b;\n"),
            "line 5: expected the number of a character, 1 to 4",
            id="a label too many",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001")[:-5],
            "line 2: expected the block DATA to end",
            id="cut off after the matrix",
        ),
        pytest.param(
            file("A 01(01)?\nB 1001")[:-8],
            "line 5: expected every command to end with ;",
            id="cut off in the matrix",
        ),
        pytest.param(
            file("A 01[(01)?\nB 1001"),
            "line 6: expected a comment that ends with ]",
            id="half a comment",
        ),
        pytest.param(
            file("A 01](01)?\nB 1001"), "line 6: expected ] only after [", id="the other half"
        ),
        pytest.param(
            file("'A 01(01)?\nB 1001"), "line 6: expected a closing quote", id="half a quote"
        ),
        pytest.param(
            "#NEXUS\nMATRIX A 01;\n",
            "line 2: expected BEGIN and the name of a block",
            id="no block",
        ),
    ],
)
def test_a_broken_file_is_refused_by_line(text: str, fault: str) -> None:
    """What is wrong is named by line, taxon and character."""
    found = faults_of(text)
    assert [line for line in found if line.startswith(f"other.nex, {fault}".replace(", :", ":"))], (
        found
    )


def test_all_faults_come_at_once() -> None:
    """Three broken rows are three lines."""
    text = file("A 0171\nB 100\nC 00000").replace("NTAX=2", "NTAX=3")
    assert len(faults_of(text)) == 3


_PIECES = st.one_of(
    st.sampled_from(
        [
            ";",
            "[",
            "]",
            "'",
            "''",
            "(",
            ")",
            "{",
            "}",
            ",",
            "/",
            "=",
            '"',
            "\n",
            " ",
            "~",
            "-",
            ".",
            "?",
            "BEGIN",
            "END;",
            "DATA;",
            "TAXA;",
            "MATRIX",
            "FORMAT",
            "DIMENSIONS",
            "NCHAR=2",
            "NTAX=2",
            "TAXLABELS",
            "CHARSTATELABELS",
            "APPLIES",
            "CORALLUM;",
            "#NEXUS",
            "0",
            "1",
            "A",
            "SYMBOLS=",
            "MATCHCHAR=.",
            "INTERLEAVE",
            "EQUATE=",
            "\x00",
            "é",
        ]
    ),
    st.text(max_size=3),
)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 160), st.integers(0, 6), _PIECES), min_size=1, max_size=4))
def test_no_nexus_text_breaks_the_reader(edits: list[tuple[int, int, str]]) -> None:
    """A sound file with random pieces put in or cut out is read, or refused with faults."""
    text = file("A 01(01)?\nB 1001", 'SYMBOLS="01" GAP=-', more="CHARSTATELABELS 1 x / a b;\n")
    for at, cut, piece in edits:
        text = text[:at] + piece + text[at + cut :]
    try:
        matrix, reading = read(text)
        parse_reference(tables_of_matrix(matrix, reading, shipped()))
    except CorallumError as error:
        assert str(error)  # noqa: PT017  either way is right; only another error is not


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(200, 7000), st.integers(0, 30), _PIECES), min_size=1, max_size=3)
)
def test_no_document_breaks_the_reader(edits: list[tuple[int, int, str]]) -> None:
    """A sound document with random pieces put in or cut out is read, or refused with faults."""
    text = OTHER
    for at, cut, piece in edits:
        text = text[:at] + piece + text[at + cut :]
    reading = Reading("other.xml")
    try:
        parse_reference(read_sdd(text.encode("utf-8", "replace"), reading, shipped()))
    except CorallumError as error:
        assert str(error)  # noqa: PT017  either way is right; only another error is not


def test_a_flood_of_faults_is_cut_off_and_counted() -> None:
    """Of a thousand faults the first 200 are listed, and how many more there are."""
    found = faults_of("#NEXUS\n" + "]" * 1000)
    assert len(found) == 201
    assert found[-1] == "other.nex: expected no faults, found 800 faults more. Mend these first."
