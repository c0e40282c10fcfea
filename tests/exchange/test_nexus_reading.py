"""NEXUS as others write it: every way of writing a matrix, and every way to break one."""

from __future__ import annotations

import csv
import io
import warnings

import dendropy
import pytest

from corallum.exchange.nexus.matrix import Cell
from corallum.exchange.nexus.tables import tables_of_matrix
from corallum.exchange.reference_tables import words_for
from corallum.model.compile import compile_reference
from corallum.reference.reference import parse_reference
from nexus_files import file, read, shipped

# Shares of the shipped words.csv.
SHARES = {
    "always": 0.96,
    "usually": 0.75,
    "often": 0.4,
    "sometimes": 0.15,
    "rarely": 0.03,
    "never": 0.001,
}
# Two taxa, four characters; by hand: 0 1 (01) ? and 1 0 0 1.
PLAIN: tuple[tuple[Cell, ...], ...] = (((0,), (1,), (0, 1), None), ((1,), (0,), (0,), (1,)))


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(file("A 01(01)?\nB 1001"), id="plain"),
        pytest.param(file("A 01 (0 1) ?\nB 10 01"), id="blanks between cells"),
        pytest.param(file("A 01\n(01)?\nB 10\n01"), id="rows over two lines"),
        pytest.param(file("A 01(0,1)?\nB 1001"), id="a comma in a cell"),
        pytest.param(file("A 01(0~1)?\nB 1001"), id="a range in a cell"),
        pytest.param(file("'A' 01(01)?\n'B' 1001"), id="quoted names"),
        pytest.param(file("A 01\nB 10\n\nA (01)?\nB 01", "INTERLEAVE"), id="in two parts"),
        pytest.param(file("A 01(01)?\nB 1001", "interleave=no"), id="not in parts"),
        pytest.param(
            file("A 01[a comment [in it [another; ']] ](01)?\n[B 0000]\nB 1001"), id="comments"
        ),
        pytest.param(file("A ab(ab)?\nB BAAB", 'SYMBOLS="A B"'), id="symbols of their own"),
        pytest.param(file("A ab(a b)?\nB BAAB", 'SYMBOLS="a~b"'), id="a range of symbols"),
        pytest.param(file("A 01(01)x\nB 1001", "MISSING=x"), id="another sign for missing"),
        pytest.param(file("A 01z?\nB 1001", 'EQUATE="z=(01) y=1"'), id="a sign for two states"),
        pytest.param(
            file("A 01(01)?\nB 1001")
            .lower()
            .replace("#nexus", "#NeXuS")
            .replace("\na ", "\nA ")
            .replace("\nb ", "\nB "),
            id="small letters",
        ),
        pytest.param(
            file("1 01(01)?\n2 1001").replace(
                "BEGIN DATA", "BEGIN TAXA;DIMENSIONS NTAX=2;TAXLABELS A B;END;\nBEGIN CHARACTERS"
            ),
            id="numbers for names",
        ),
        pytest.param(
            "#NEXUS begin taxa; dimensions ntax=2; taxlabels A B; endblock; begin characters; "
            "dimensions nchar=4; matrix A 01(01)?\nB 1001; endblock;",
            id="hardly a line",
        ),
    ],
)
def test_one_matrix_is_read_however_it_is_written(text: str) -> None:
    """Every way the format has to write the same four columns gives the same cells."""
    matrix, _ = read(text)
    assert matrix.taxa == ("A", "B")
    assert matrix.cells == PLAIN


def test_a_matching_sign_repeats_the_first_taxon() -> None:
    """``.`` stands for what the first taxon has there, also in parts, also where it is missing."""
    text = file("A 01\nB ..\n\nA (01)?\nB ..", "MATCHCHAR=. INTERLEAVE")
    assert read(text)[0].cells == (PLAIN[0], PLAIN[0])


def test_case_counts_where_the_file_says_so() -> None:
    """With RESPECTCASE a and A are two symbols."""
    matrix, _ = read(file("A aAaA\nB AAaa", 'RESPECTCASE SYMBOLS="aA"'))
    assert matrix.cells[0] == ((0,), (1,), (0,), (1,))


def test_names_are_read_as_the_format_has_them() -> None:
    """An underscore outside quotes is a blank; in quotes it stays, and two quotes are one."""
    text = file(
        "Astrea_curta 01(01)?\n'it''s_B' 1001",
        more="CHARSTATELABELS 1 how_wide / narrow wide, 2 'the_edge' / 'a, b' c,\n 4 / _ last;\n",
    )
    matrix, _ = read(text)
    assert matrix.taxa == ("Astrea curta", "it's_B")
    assert [one.name for one in matrix.characters] == [
        "how wide",
        "the_edge",
        "character 3",
        "character 4",
    ]
    assert [one.states for one in matrix.characters] == [
        ("narrow", "wide"),
        ("a, b", "c"),
        ("state 0", "state 1"),
        ("state 0", "last"),
    ]


def test_older_commands_name_characters_and_states() -> None:
    """CHARLABELS and STATELABELS name what CHARSTATELABELS names."""
    more = "CHARLABELS one two 'three 3' four;\nSTATELABELS 1 no yes, 3 up down;\n"
    matrix, _ = read(file("A 01(01)?\nB 1001", more=more))
    assert [one.name for one in matrix.characters] == ["one", "two", "three 3", "four"]
    assert matrix.characters[2].states == ("up", "down")


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(file("A 01(01)?\nB 1001", 'DATATYPE=STANDARD SYMBOLS="01"'), id="plain"),
        pytest.param(
            file("A 01\nB 10\n\nA (01)?\nB 01", 'DATATYPE=STANDARD SYMBOLS="01" INTERLEAVE'),
            id="in two parts",
        ),
        pytest.param(
            file("A 0[x]1(01)?\nB 1001", 'DATATYPE=STANDARD SYMBOLS="01"'), id="with a comment"
        ),
    ],
)
def test_another_reader_agrees(text: str) -> None:
    """The reader dendropy 5.1 reads the same states out of the same file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the reader's own making
        found = dendropy.StandardCharacterMatrix.get(data=text, schema="nexus")
    for name, row in zip(("A", "B"), read(text)[0].cells, strict=True):
        theirs = [{str(one) for one in state.fundamental_states} for state in found[name]]
        for cell, state in zip(row, theirs, strict=True):
            assert cell is None or state == {str(n) for n in cell}


def test_what_is_not_taken_is_named() -> None:
    """Blocks and commands of no use here, and scores that lose something, are counted."""
    text = file("A 01{01}-\nB 1001", "GAP=-", more="ELIMINATE 3;\n") + "BEGIN TREES;\nEND;\n"
    matrix, reading = read(text)
    tables_of_matrix(matrix, reading, shipped())
    assert reading.left_out == {
        "commands ELIMINATE": 1,
        "blocks TREES": 1,
        "uncertain scores, read as several states": 1,
    }


def test_a_matrix_of_another_make_becomes_a_sound_reference() -> None:
    """Ids are made of names, a gap becomes ``none``, and the whole is compiled."""
    more = "CHARSTATELABELS 1 'Growth form' / Massive Branching;\n"
    matrix, reading = read(file("Alpha_beta 01(01)-\nGamma 1001", "GAP=-", more=more))
    tables = tables_of_matrix(matrix, reading, shipped())
    reference = parse_reference(tables)
    assert len(compile_reference(reference).genera) == 2
    rows = list(csv.DictReader(io.StringIO(tables["values.csv"], newline="")))
    assert [(r["genus"], r["form"], r["character"], r["value"]) for r in rows] == [
        ("Alpha beta", "typical", "growth_form", "usually massive"),
        ("Alpha beta", "typical", "character_2", "usually state_1"),
        ("Alpha beta", "typical", "character_3", "often state_0; often state_1"),
        ("Alpha beta", "typical", "character_4", "always none"),
        ("Gamma", "typical", "growth_form", "usually branching"),
        ("Gamma", "typical", "character_2", "usually state_0"),
        ("Gamma", "typical", "character_3", "usually state_0"),
        ("Gamma", "typical", "character_4", "usually state_1"),
    ]


@pytest.mark.parametrize(
    ("n", "words"),
    [
        pytest.param(1, ["usually"], id="1: .75"),
        pytest.param(2, ["often"] * 2, id="2: .80"),
        pytest.param(3, ["often"] * 3, id="3: 1.20"),
        pytest.param(4, ["often", *["sometimes"] * 3], id="4: .40 + .45 = .85"),
        pytest.param(5, ["sometimes"] * 5, id="5: .75"),
        pytest.param(8, ["sometimes"] * 8, id="8: 1.20"),
        pytest.param(9, ["sometimes"] * 4 + ["rarely"] * 5, id="9: .60 + .15 = .75"),
        pytest.param(30, ["rarely"] * 30, id="30: .90"),
    ],
)
def test_states_of_which_no_more_is_known_share_alike(n: int, words: list[str]) -> None:
    """Shares add up to 0.7 to 1.3, reckoned by hand; equal where any word allows it."""
    assert words_for(n, SHARES) == words


def test_of_two_words_that_serve_the_one_nearer_to_all_is_taken() -> None:
    """Two states of .6 add up to 1.2, of .5 to 1: the second is nearer to all colonies."""
    assert words_for(2, {"mostly": 0.6, "half": 0.5}) == ["half", "half"]
