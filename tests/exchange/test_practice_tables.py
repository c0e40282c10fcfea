"""Practice sets, answers, marks and right answers in and out of files."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import support
from corallum.actions.references import find_genus
from corallum.errors import InputError
from corallum.exchange.practice import (
    SetFile,
    empty_answers_csv,
    picture_name,
    questions_csv,
    set_from_text,
    set_to_text,
)
from corallum.exchange.practice_answers import GivenAnswer, read_answers
from corallum.exchange.practice_marks import MARK_COLUMNS, Marked, add_up, marks_csv, marks_object
from corallum.exchange.right_answers import read_right_answers
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.marking import Mark
from corallum.practice.sets import SetWish, make_items
from corallum.practice.worked import Astray, Worked
from corallum.records.answer import WhyEntry
from corallum.records.colony import SizeReport, StateReport

HEAD = "observer,item,genera,confidence,seconds"
LOOKS = f"{HEAD},columella,calice_diameter_mm,calice_diameter_mm.n,calice_diameter_mm.method"


@cache
def items() -> tuple[Item, ...]:
    """Six drawn and described colonies."""
    wish = SetWish("mixed", "red_sea", 6, described=0.5)
    return tuple(make_items(support.compiled(), wish, np.random.default_rng(4)))


def made() -> SetFile:
    """A set of them."""
    return SetFile("Invented", "mixed", "red_sea", support.compiled().hash, items())


def read(text: str, n: int = 6) -> tuple[GivenAnswer, ...]:
    """Answers to a set of so many items."""
    library = support.library()
    return read_answers(
        text, "a.csv", n, support.compiled(), lambda name: find_genus(library, name)
    )


def faults(call: Callable[[], object]) -> list[str]:
    """What a call refuses, one line each."""
    with pytest.raises(InputError) as caught:
        call()
    return [str(fault) for fault in caught.value.faults]


def test_a_set_comes_back_as_it_was() -> None:
    """Written and read again, with or without a mark of byte order, a set is the same."""
    text = set_to_text(made())
    assert set_from_text(text, "set.json", support.compiled()) == made()
    assert set_from_text(f"\ufeff{text}", "set.json", support.compiled()) == made()


def altered(change: Callable[[dict[str, Any]], None]) -> str:
    """The text of the set after a change by hand."""
    value = json.loads(set_to_text(made()))
    change(value)
    return json.dumps(value)


def test_every_fault_of_a_set_is_named_at_once() -> None:
    """Title, region and every item that the reference does not know are told together."""

    def change(value: dict[str, Any]) -> None:
        value["title"], value["region"] = "two\nlines", "mars"
        one, two, three, four, five, _ = value["items"]
        one["genus"], two["form"] = "Nix", "nix"
        three["shown"]["columella"] = "nix"
        four["seed"], five["seed"] = -1, "x"

    found = faults(lambda: set_from_text(altered(change), "s.json", support.compiled()))
    places = [line.split(":")[0] for line in found]
    assert places == [
        "s.json, title", "s.json, region", "s.json, item 1, genus", "s.json, item 2, form",
        "s.json, item 3, columella", "s.json, item 4, seed", "s.json, item 5, seed",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        pytest.param("", "line 1, column 1: expected a practice set as JSON", id="empty"),
        pytest.param("[1", "line 1, column 3: expected a practice set as JSON", id="cut off"),
        pytest.param("[" * 100_000, "brackets nested too deep", id="deep"),
        pytest.param('{"kind": NaN}', "NaN, which is no number", id="nan"),
        pytest.param('{"kind": ' + "9" * 5000 + "}", "a number of 5000 digits", id="huge"),
        pytest.param("[]", 'expected a practice set, "kind"', id="list"),
        pytest.param('{"kind": "practice set", "version": 2}', "expected version 1", id="newer"),
        pytest.param(altered(lambda v: v.update(items=[])), "items: expected a list of 1 to 400",
                     id="no items"),
        pytest.param(altered(lambda v: v.update(items=[7, *v["items"]])),
                     "item 1: expected an item, found 7", id="no object"),
        pytest.param(altered(lambda v: v["items"][0]["shown"].update(depth_m=1e999)),
                     "which is no number", id="infinite"),
    ],
)  # fmt: skip
def test_what_is_no_set_is_one_line(text: str, wanted: str) -> None:
    """A text that is no set is refused in one line that says where."""
    (found,) = faults(lambda: set_from_text(text, "s.json", support.compiled()))
    assert wanted in found


def test_questions_tell_no_answer() -> None:
    """Neither genus nor form, nor what only the picture shows, stands in the questions."""
    rows = list(csv.DictReader(io.StringIO(questions_csv(items()))))
    assert [row["item"] for row in rows] == [str(n) for n in range(1, 7)]
    for number, (row, item) in enumerate(zip(rows, items(), strict=True), start=1):
        rendered = item.kind == "rendered"
        assert row["picture"] == (picture_name(number) if rendered else "")
        told = {part.split(":")[0] for part in row["told"].split("; ")}
        assert told == set(item.told)
        assert item.genus not in ",".join(row.values())


def test_the_empty_table_is_read_as_not_answered() -> None:
    """The table to fill in has a column for each look that a picture shows, and no answer yet."""
    text = empty_answers_csv(items(), support.compiled())
    header = text.splitlines()[0].split(",")
    assert set(header[5:]) == {id_ for item in items() for id_ in item.pictured}
    assert "expected answers, found none at all" in faults(lambda: read(text))[0]


def test_answers_are_read_cell_by_cell() -> None:
    """Sets, unsure looks, sizes with method, shares and percent are read; ids stay texts."""
    text = (
        f"{LOOKS}\n007,1,Favites|goniastrea,80 %,12,absent|spongy?,7.5?,3,ruler\n\n"
        "007,2,,.25,,,,,\nB,1,Favia,1,,,,,\n"
    )
    first, second, third = read(text)
    assert first == GivenAnswer(
        "007", 1,
        PracticeAnswer(
            ("Favites", "Goniastrea"), 0.8,
            {"columella": StateReport(("absent", "spongy"), sure=False),
             "calice_diameter_mm": SizeReport(7.5, 3, "ruler", sure=False)},
            12.0,
        ), 2,
    )  # fmt: skip
    assert second.answer == PracticeAnswer((), 0.25)
    assert (third.observer, third.answer.confidence, third.answer.seconds) == ("B", 1.0, None)


def test_a_row_without_genera_confidence_and_looks_was_not_answered() -> None:
    """Such rows are left out, whatever observer or item they name."""
    assert len(read(f"{HEAD}\nA,1,Favites,.9,\nA,2,,,\n,,,,5\n")) == 1


def test_every_fault_of_answers_is_named_at_once() -> None:
    """Each fault has its row and column, those of looks too."""
    text = (
        f"{LOOKS}\n,1,Favites,.9,,,,,\nA,7,Favitess,60,x,,,,\nA,3,Favites,.9,,blob,700,1,tape\n"
        "A,4,Favites,.9,,\nA,5,Favites,.9,,,,,\nA,5,Favites,.9,,,,,\nA,6,Favites,,,,,,\n"
        'A,"6\nA,1,Favites,.9,,,wide,,\n'
    )
    places = [line.split(": expected")[0] for line in faults(lambda: read(text))]
    assert places == [
        "a.csv, row 2, observer", "a.csv, row 3, item", "a.csv, row 3, genera",
        "a.csv, row 3, confidence", "a.csv, row 3, seconds", "a.csv, row 4, columella",
        "a.csv, row 4, calice_diameter_mm", "a.csv, row 4, calice_diameter_mm", "a.csv, row 5",
        "a.csv, row 7, item", "a.csv, row 8, confidence", "a.csv, row 9",
        "a.csv, row 10, calice_diameter_mm",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("header", "wanted"),
    [
        pytest.param("observer,item,genera", ["a column confidence"], id="column missing"),
        pytest.param(f"{HEAD},item", ["one column item, found 2"], id="twice"),
        pytest.param(f"{HEAD},colour,columelle", ["found 'colour'", "found 'columelle'"], id="ids"),
        pytest.param(f"{HEAD},region", ["found 'region'"], id="of the set"),
        pytest.param(f"{HEAD},septa_count.n", ["a column septa_count beside"], id="n alone"),
        pytest.param('observer,"item', ["comma-separated values"], id="open quote"),
        pytest.param("", ["expected answers, found none at all"], id="empty"),
    ],
)
def test_a_header_that_fits_no_answers(header: str, wanted: list[str]) -> None:
    """Columns that are missing, double or unknown are named, and no row is read by them."""
    found = faults(lambda: read(f"{header}\nA,9,Nix,7,x\n" if header else ""))
    assert len(found) == len(wanted)
    for line, part in zip(found, wanted, strict=True):
        assert part in line


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("0", 0.0),
        ("1", 1.0),
        ("1%", 0.01),
        ("100 %", 1.0),
        ("0.5", 0.5),
        (".5", 0.5),
        ("5.%", 0.05),
    ],
)
def test_confidence_is_a_share_or_a_percentage(cell: str, value: float) -> None:
    """A bare number is a share of one; with a % sign it is a hundredth."""
    assert read(f"{HEAD}\nA,1,Favites,{cell},\n")[0].answer.confidence == pytest.approx(value)


@pytest.mark.parametrize("cell", ["80", "1.01", "101 %", "-1", "nan", "inf", "1e-3", "½", "%"])
def test_no_confidence_is_guessed(cell: str) -> None:
    """What may be read two ways, or not at all, is refused."""
    (found,) = faults(lambda: read(f"{HEAD}\nA,1,Favites,{cell},\n"))
    assert "row 2, confidence: expected a confidence from 0 to 1, or from 0 % to 100 %" in found


def test_faults_beyond_a_hundred_are_counted() -> None:
    """The first hundred are listed, the rest are a number."""
    found = faults(lambda: read(f"{HEAD}\n" + "A,9,Favites,.9,\n" * 130))
    assert len(found) == 101
    assert "30 more" in found[-1]


@given(text=st.text(alphabet=st.sampled_from('A1,|"?%.\r\n\t\x00é \ufeff'), max_size=80))
def test_no_text_breaks_the_readers(text: str) -> None:
    """Whatever stands in a table, it is read or refused with faults of one line each."""
    for call in (lambda: read(f"{LOOKS}\n{text}"), lambda: read_right_answers(text, "r.csv")):
        lines = []
        try:
            call()
        except InputError as error:
            lines = [str(fault) for fault in error.faults]
        assert all(line.isprintable() for line in lines)


def marked(observer: str, number: int, *, right: bool, score: float) -> Marked:
    """A marked answer by hand."""
    worked = Worked(
        Mark(score, right, ("Favites",)), "Favia",
        (WhyEntry("columella", ("paliform_crown",), 7.26), WhyEntry("tissue", (), 0.01)),
        (Astray("columella", "absent", "spongy", 3.2),), (), (), (("Favites", 0.9), (None, 0.1)),
    )  # fmt: skip
    answer = PracticeAnswer(("Favites", "Favia"), 0.75)
    item = replace(items()[0], genus="Favites")
    return Marked(observer, number, item, answer, worked)


def test_marks_as_a_table() -> None:
    """One row an answer, with every column; trifles are left out of what decides."""
    text = marks_csv([marked("=A, B", 3, right=True, score=0.98765)])
    (row,) = csv.DictReader(io.StringIO(text))
    assert tuple(row) == MARK_COLUMNS
    assert row == {
        "observer": "=A, B", "item": "3", "genus": "Favites", "said": "Favites|Favia",
        "confidence": "0.75", "score": "0.9877", "right": "yes", "nearest": "Favia",
        "astray": "columella: said absent, was spongy (-3.2 dB)",
        "decides": "columella, paliform crown (+7.3 dB)",
    }  # fmt: skip


def test_marks_add_up_by_observer() -> None:
    """Each observer has the number of answers, of right ones, and the means."""
    rows = [marked("B", 1, right=True, score=1.0), marked("A", 1, right=False, score=0.2),
            marked("B", 2, right=False, score=0.5)]  # fmt: skip
    first, second = add_up(rows)
    assert (first.observer, first.answers, first.right, first.score) == ("B", 2, 1, 0.75)
    assert (second.observer, second.right, second.confidence) == ("A", 0, 0.75)
    observers: Mapping[str, Any] = marks_object(rows)["observers"]
    assert observers["B"] == {"answers": 2, "right": 1, "score": 0.75, "confidence": 0.75}


def test_marks_are_read_as_right_answers() -> None:
    """A table of marks serves a qualification as it stands."""
    rows = [marked("A", 1, right=True, score=1.0), marked("A", 2, right=False, score=0.1)]
    assert read_right_answers(marks_csv(rows), "m.csv") == {"A": [("1", True), ("2", False)]}


def test_right_answers_and_their_faults() -> None:
    """Words for right and wrong in any case; blank is not answered; the rest is refused."""
    text = "right,item,observer\nYES,1,A\n0,2,A\n,3,A\nwrong,x,B\n"
    assert read_right_answers(text, "r.csv") == {
        "A": [("1", True), ("2", False)], "B": [("x", False)],
    }  # fmt: skip
    found = faults(lambda: read_right_answers("observer,item,right\n,1,maybe\nA,,1\n", "r.csv"))
    assert [line.split(":")[0] for line in found] == [
        "r.csv, row 2, observer", "r.csv, row 2, right", "r.csv, row 3, item",
    ]  # fmt: skip
    assert "none at all" in faults(lambda: read_right_answers("observer,item,right\n", "r.csv"))[0]
