"""Items and answers as text: read back as written, every fault of what is not one."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.practice.item import KINDS, Item, PracticeAnswer, item_from_json, item_to_json
from corallum.practice.kept import answer_from_text, answer_to_text
from corallum.records.colony import SizeReport, StateReport

# What a line of a database or a form may hold; halves of characters are no text.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
SHARES = st.floats(0, 1)
SIZES = st.floats(0.01, 1e6)
GOOD = item_to_json(Item("described", "Favites", "typical", "red_sea", 3))

items = st.builds(
    Item,
    kind=st.sampled_from(KINDS), genus=TEXTS, form=TEXTS, region=TEXTS,
    seed=st.integers(0, 2**31), scene=TEXTS, conditions=st.tuples(TEXTS, TEXTS) | st.just(()),
    shown=st.dictionaries(TEXTS, TEXTS | SIZES, max_size=4),
    told=st.tuples(TEXTS) | st.just(()), best=st.dictionaries(TEXTS, SHARES, max_size=4),
    photo=TEXTS, colony=TEXTS, ruler=st.booleans(), ask=TEXTS, why=TEXTS, note=TEXTS,
)  # fmt: skip
reports = st.builds(
    StateReport, st.lists(TEXTS, min_size=1, max_size=3).map(tuple), st.booleans()
) | st.builds(SizeReport, SIZES, st.integers(1, 99), TEXTS, st.booleans())
answers = st.builds(
    PracticeAnswer,
    genera=st.lists(TEXTS, max_size=4).map(tuple), confidence=SHARES,
    reports=st.dictionaries(TEXTS, reports, max_size=4), seconds=st.none() | SIZES,
)  # fmt: skip


@given(items)
def test_items_are_read_back_as_written(item: Item) -> None:
    """Through JSON, whatever the texts hold, an item stays the same."""
    text = json.dumps(item_to_json(item), ensure_ascii=False, allow_nan=False)
    assert item_from_json(json.loads(text), "here") == item


@given(answers)
def test_answers_are_read_back_as_written(answer: PracticeAnswer) -> None:
    """Through text, whatever was reported, an answer stays the same."""
    assert answer_from_text(answer_to_text(answer)) == answer


def test_what_the_picture_shows_is_what_is_not_told() -> None:
    """Characters told in words are left to the words."""
    item = Item("rendered", "Favites", "typical", "red_sea", 3, shown={"a": "x", "b": 2.0})
    assert replace(item, told=("a",)).pictured == ("b",)
    assert item.pictured == ("a", "b")


def test_fields_that_may_be_left_out() -> None:
    """An item of an earlier version lacks what it had no need of."""
    needed = {key: GOOD[key] for key in ("kind", "genus", "form", "region", "seed")}
    assert item_from_json(needed, "here") == Item("described", "Favites", "typical", "red_sea", 3)


def test_every_fault_of_an_item_is_told_at_once() -> None:
    """Each field of a wrong kind, and each that is missing, is named with its place."""
    bad = {**GOOD, "genus": 4, "shown": [], "ruler": "yes", "conditions": "shaded"}
    del bad["seed"], bad["form"]
    with pytest.raises(InputError) as caught:
        item_from_json(bad, "practice set x, item 1")
    found = {(fault.where, fault.place) for fault in caught.value.faults}
    names = ("genus", "shown", "ruler", "conditions", "seed", "form")
    assert found == {("practice set x, item 1", name) for name in names}


def test_every_fault_inside_lists_is_told_at_once() -> None:
    """States, sizes, texts and chances are checked one by one."""
    bad = {**GOOD, "told": [1], "conditions": [None], "shown": {"a": []}, "best": {"Favites": 1.5}}
    with pytest.raises(InputError) as caught:
        item_from_json(bad, "here")
    assert {fault.place for fault in caught.value.faults} == {
        "told", "conditions", "shown", "best",
    }  # fmt: skip


@pytest.mark.parametrize("bad", [None, 3, "item", [], [GOOD]])
def test_what_is_no_item_at_all(bad: object) -> None:
    """Anything but an object is one fault."""
    with pytest.raises(InputError, match="expected an item"):
        item_from_json(bad, "here")


def test_an_unknown_kind_is_refused() -> None:
    """A kind is one of three words."""
    with pytest.raises(InputError, match="expected one of rendered, photo, described"):
        item_from_json({**GOOD, "kind": "film"}, "here")


@pytest.mark.parametrize(
    "bad",
    [
        pytest.param("", id="nothing"),
        pytest.param("{", id="half a text"),
        pytest.param("[]", id="a list"),
        pytest.param("null", id="null"),
        pytest.param("{}", id="no field"),
        pytest.param('{"genera": 3, "confidence": 1, "reports": {}, "seconds": null}', id="genera"),
        pytest.param(
            '{"genera": [], "confidence": "x", "reports": {}, "seconds": null}', id="confidence"
        ),
        pytest.param(
            f'{{"genera": [], "confidence": 1{"0" * 400}, "reports": {{}}, "seconds": null}}',
            id="a confidence without end",
        ),
        pytest.param(
            '{"genera": [], "confidence": 1, "reports": [], "seconds": null}', id="reports"
        ),
        pytest.param(
            '{"genera": [], "confidence": 1, "reports": {"a": 3}, "seconds": null}', id="a report"
        ),
        pytest.param(
            '{"genera": [], "confidence": 1, "reports": {"a": {"value": 3}}, "seconds": null}',
            id="half a report",
        ),
    ],
)
def test_altered_answers_are_refused(bad: str) -> None:
    """Whatever was made of an answer's text, it is one error that says what to do."""
    with pytest.raises(InputError, match=r"expected an answer.*Restore a backup"):
        answer_from_text(bad)
