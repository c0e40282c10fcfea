"""Readings out of CSV: what is read, and every fault by row and column."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anaesthetists import as_csv, patient_rows, patients
from corallum.errors import InputError
from corallum.exchange.readings import read_readings
from corallum.observers.readings import Readings


def rows_of(found: Readings) -> list[tuple[str, str, str]]:
    """The readings as rows again."""
    return [
        (found.items[i], found.observers[o], found.labels[k])
        for i, o, k in zip(found.item, found.observer, found.label, strict=True)
    ]


def test_the_anaesthetists_are_read_with_their_repeats() -> None:
    """All 315 readings come out in their order."""
    found = read_readings(as_csv(patient_rows()), "f")
    assert rows_of(found) == patient_rows()
    assert found.labels == patients().labels


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        pytest.param(
            "label,item,observer\nFavites,c1,A\n", [("c1", "A", "Favites")],
            id="columns in another order",
        ),
        pytest.param(
            "site,item,depth,observer,label,item_no\nx,c1,3,A,Favites,\n",
            [("c1", "A", "Favites")], id="other columns are not looked at",
        ),
        pytest.param(
            "item,observer,label\nc1,A,\nc1,B,Favites\n", [("c1", "B", "Favites")],
            id="a blank label was not read",
        ),
        pytest.param(
            "\r\nitem , observer,label\r\n\r\n c1 ,A, Favites \r\n,,\r\n",
            [("c1", "A", "Favites")], id="blanks and blank rows",
        ),
        pytest.param(
            'item,observer,label\n"c1, left",A,"a ""b"""\n', [("c1, left", "A", 'a "b"')],
            id="quotes",
        ),
        pytest.param(
            "item,observer,label\n01,A,1\n1,A,1\n", [("01", "A", "1"), ("1", "A", "1")],
            id="ids are texts",
        ),
        pytest.param(
            "item,observer,label\rc1,A,x\rc1,A,y", [("c1", "A", "x"), ("c1", "A", "y")],
            id="repeats, and old line ends",
        ),
    ],
)  # fmt: skip
def test_what_is_read(text: str, rows: list[tuple[str, str, str]]) -> None:
    """A table gives exactly these readings."""
    assert rows_of(read_readings(text, "f")) == rows


HEADER = "item,observer,label\n"
FAULTS = (
    pytest.param(
        "", ["f: expected readings, found an empty file. Write a header item,observer,label and"
             " one reading per row."], id="empty",
    ),
    pytest.param(
        "\n \n", ["f: expected readings, found an empty file. Write a header item,observer,label"
                  " and one reading per row."], id="blank",
    ),
    pytest.param(
        HEADER + "c1,A,\n", ["f: expected readings, found none at all. Write a header"
                             " item,observer,label and one reading per row."], id="nothing read",
    ),
    pytest.param(
        "colony,observer,genus\nc1,A,x\n",
        ["f, row 1: expected one column item, found 'colony', 'observer', 'genus'. Name the"
         " columns item, observer and label.",
         "f, row 1: expected one column label, found 'colony', 'observer', 'genus'. Name the"
         " columns item, observer and label."], id="missing columns",
    ),
    pytest.param(
        "item;observer;label\nc1;A;x\n",
        [f"f, row 1: expected one column {name}, found 'item;observer;label'. Name the columns"
         " item, observer and label." for name in ("item", "observer", "label")],
        id="semicolons",
    ),
    pytest.param(
        "item,item,observer,label\nc1,c1,A,x\n",
        ["f, row 1: expected one column item, found 2 of them. Keep one."], id="column twice",
    ),
    pytest.param(
        HEADER + ",A,x\nc1,,x\nc1,A,a,b\nc1,A\nc1,A,a\x07b\n",
        ["f, row 2, column item: expected an id, found nothing. Write one, or remove the row.",
         "f, row 3, column observer: expected an id, found nothing. Write one, or remove the row.",
         "f, row 4: expected 3 cells, found 4. Quote a cell with a comma, and leave a blank cell"
         " blank.",
         "f, row 5: expected 3 cells, found 2. Quote a cell with a comma, and leave a blank cell"
         " blank.",
         "f, row 6, column label: expected a text without control characters, found 'a\\x07b'."
         " Mend it."], id="all at once",
    ),
    pytest.param(
        HEADER + 'c1,A,"x\nc2,A,y\n',
        ["f, row 2: expected comma-separated values, found unexpected end of data. Close each"
         " quote on its own line."], id="quote left open",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("text", "lines"), FAULTS)
def test_every_fault_is_named(text: str, lines: list[str]) -> None:
    """All faults come at once, each a line by row and column with what to do."""
    with pytest.raises(InputError) as error:
        read_readings(text, "f")
    assert str(error.value).splitlines() == lines


def test_a_thousand_faults_are_counted() -> None:
    """Of very many faults a hundred are listed and the rest counted."""
    with pytest.raises(InputError) as error:
        read_readings(HEADER + ",A,x\n" * 1000, "f")
    assert len(error.value.faults) == 101
    last = "f: expected no faults, found 900 more. Mend these first."
    assert str(error.value.faults[-1]) == last


PIECES = st.lists(
    st.sampled_from(
        ["item", "observer", "label", ",", '"', "\n", "\r", "\r\n", "\ufeff", "\x00", " ", "c1",
         "\x85", "\u2028", "é", ";"]
    ) | st.text(max_size=3),
    max_size=30,
).map("".join)  # fmt: skip


@given(st.text() | PIECES)
@settings(max_examples=300, deadline=None)
def test_any_text_is_readings_or_faults(text: str) -> None:
    """Whatever stands in a file, the reader gives readings or faults on lines of their own."""
    for whole in (text, HEADER + text):
        found, faults, lines = None, (), []
        try:
            found = read_readings(whole, "f")
        except InputError as error:
            faults, lines = error.faults, str(error).splitlines()
        assert (found is None) == (len(lines) == len(faults) > 0)
        ids = () if found is None else found.items + found.observers + found.labels
        assert all(id_.isprintable() and id_ == id_.strip() for id_ in ids)


CELLS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1)


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=8))
@settings(deadline=None)
def test_what_a_csv_writer_wrote_is_read_back(rows: list[tuple[str, str, str]]) -> None:
    """Any printable ids survive being written as CSV."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([("item", "observer", "label"), *rows])
    assert rows_of(read_readings(out.getvalue(), "f")) == rows
