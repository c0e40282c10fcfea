"""Whatever stands in a file, each reader gives colonies or faults, nothing else."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import support
from corallum.errors import InputError
from corallum.exchange.answers import error_object
from corallum.exchange.colonies import BadColony, parse_colony, read_csv, read_json, read_lines
from corallum.model.evidence import read_colony, state_columns
from corallum.records.colony import Colony, SizeReport, StateReport

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)
REPORTS = VALUES | st.fixed_dictionaries(
    {},
    optional={
        "value": VALUES, "n": VALUES, "method": VALUES, "unit": VALUES, "sure": VALUES,
        "state": VALUES,
    },
)  # fmt: skip
COLONIES = VALUES | st.fixed_dictionaries(
    {},
    optional={
        "id": VALUES, "region": VALUES, "observer": VALUES, "conditions": VALUES,
        "observations": VALUES | st.dictionaries(st.text(max_size=8), REPORTS, max_size=4),
        "more": VALUES,
    },
)  # fmt: skip
# Pieces that colonies and tables are made of, so that random texts come near to them.
PIECES = st.lists(
    st.sampled_from(
        ["{", "}", "[", "]", '"', ",", ":", "\n", "\r\n", "\r", "|", "?", "\ufeff", "\x00", " ",
         '"id"', '"observations"', "null", "true", "NaN", "-1e9", "7.5", "id", "x", "x.n",
         "x.method", "conditions", "\ud800", "é", "9" * 4301]
    ) | st.text(max_size=3),
    max_size=30,
).map("".join)  # fmt: skip


def check(items: Iterable[Colony | BadColony]) -> None:
    """Each item is a colony, or faults that can be said, printed and sent."""
    for item in items:
        if isinstance(item, BadColony):
            assert item.faults
            assert len(str(item).splitlines()) == len(item.faults)
            json.dumps(error_object(item.id, item)).encode()
        else:
            assert isinstance(item, Colony)
            assert item.id.isprintable()


@given(st.text() | PIECES)
@settings(max_examples=300, deadline=None)
def test_any_text_as_lines(text: str) -> None:
    """Any text read line by line gives colonies or faults."""
    check(read_lines(io.StringIO(text, newline=""), "f"))


@given(st.text() | PIECES)
@settings(max_examples=300, deadline=None)
def test_any_text_as_one_document(text: str) -> None:
    """Any text read as one document gives colonies or faults."""
    check(read_json(text, "f"))


@given(st.text() | PIECES)
@settings(max_examples=400, deadline=None)
def test_any_text_as_a_table(text: str) -> None:
    """Any text read as a table gives colonies or faults, below a sound header too."""
    check(read_csv(io.StringIO(text, newline=""), "f"))
    check(read_csv(io.StringIO(f"id,x,x.n,x.method,conditions\n{text}", newline=""), "f"))


@given(COLONIES)
@settings(max_examples=400, deadline=None)
def test_any_value_as_a_colony(value: object) -> None:
    """Any JSON value gives a colony or faults, and the same by way of its text."""
    item = parse_colony(value, "f", "line 1")
    check([item])
    try:
        text = json.dumps(value, allow_nan=False)
    except ValueError:
        return
    again = list(read_lines([text], "f"))
    assert isinstance(value, list) or [str(found) for found in again] == [str(item)]
    check(again)


@st.composite
def plain_colonies(draw: st.DrawFn) -> dict[str, object]:
    """A colony as an object, with what a table can say too."""
    words = st.text("abcxyz_", min_size=1, max_size=8)
    sizes = st.floats(0.01, 1e6).map(lambda x: round(x, 3)) | st.integers(0, 10**6)
    reports: dict[str, object] = {}
    for id_ in draw(st.lists(words.map("x_".__add__), max_size=5, unique=True)):
        sure = draw(st.booleans())
        if draw(st.booleans()):
            states = draw(st.lists(words, min_size=1, max_size=3))
            reports[id_] = {"state": states, "sure": sure}
        else:
            n, method = draw(st.integers(1, 99)), draw(st.sampled_from(["eye", "ruler", "photo"]))
            reports[id_] = {"value": draw(sizes), "n": n, "method": method, "sure": sure}
    return {
        "id": draw(words),
        "region": draw(st.none() | words),
        "observer": draw(st.none() | words),
        "conditions": draw(st.lists(words, max_size=2)),
        "observations": reports,
    }


def as_table(colony: dict[str, object]) -> str:
    """The same colony as a table of one row."""
    row = {
        "id": colony["id"], "region": colony["region"] or "", "observer": colony["observer"] or "",
        "conditions": "|".join(colony["conditions"]),  # type: ignore[arg-type]  # a list of texts
    }  # fmt: skip
    for id_, report in colony["observations"].items():  # type: ignore[attr-defined]  # a dict
        mark = "" if report["sure"] else "?"
        if "state" in report:
            row[id_] = "|".join(report["state"]) + mark
        else:
            row[id_] = f"{report['value']!r}{mark}"
            row |= {f"{id_}.n": str(report["n"]), f"{id_}.method": report["method"]}
    out = io.StringIO(newline="")
    csv.writer(out).writerows([row.keys(), row.values()])
    return out.getvalue()


@given(plain_colonies())
@settings(max_examples=200, deadline=None)
def test_a_colony_means_the_same_in_a_table_and_in_json(colony: dict[str, object]) -> None:
    """CSV and JSON of the same colony give the same record."""
    (of_json,) = read_lines([json.dumps(colony)], "f")
    (of_table,) = read_csv(io.StringIO(as_table(colony), newline=""), "f")
    assert isinstance(of_json, Colony)
    assert of_json == of_table


IDS = sorted({*support.compiled().character_index, *(view.id for view in support.compiled().views)})
NUMBERS = st.floats() | st.sampled_from([0.0, -1.0, 1e-300, 1e300, 7.5])
METHODS = st.sampled_from(["eye", "ruler", "photo", "published", ""]) | st.text(max_size=5)


@st.composite
def observations(draw: st.DrawFn) -> dict[str, StateReport | SizeReport]:
    """Reports on any characters, of any kind, mostly with words that the scheme knows."""
    found: dict[str, StateReport | SizeReport] = {}
    ids = st.sampled_from(IDS) | st.sampled_from(IDS) | st.text(max_size=8)
    for id_ in draw(st.lists(ids, max_size=6, unique=True)):
        known = [*state_columns(support.compiled(), id_), "not_applicable", "not_looked_at"]
        words = st.sampled_from(known) | st.text(max_size=5)
        sure = draw(st.booleans())
        if draw(st.booleans()):
            found[id_] = StateReport(tuple(draw(st.lists(words, max_size=4))), sure)
        else:
            n = draw(st.integers() | st.integers(1, 9))
            found[id_] = SizeReport(draw(NUMBERS), n, draw(METHODS), sure)
    return found


@given(observations(), st.none() | st.just("red_sea") | st.text(max_size=5), st.data())
@settings(max_examples=300, deadline=None)
def test_any_reports_are_evidence_or_faults(
    reports: dict[str, StateReport | SizeReport], region: str | None, data: st.DataObject
) -> None:
    """Reading any reports against the scheme raises its one error, with faults, or none."""
    words = st.sampled_from(["shaded", "crowded"]) | st.text(max_size=5)
    conditions = tuple(data.draw(st.lists(words, max_size=2)))
    try:
        evidence = read_colony(support.compiled(), Colony("c", reports, region, None, conditions))
    except InputError as error:
        faults = error.faults
    else:
        assert all(0 < report.value < 1e10 for report in evidence.sizes.values())
        return
    assert all(fault.where == "colony c" for fault in faults)
    assert all(fault.remedy for fault in faults)


@pytest.mark.parametrize("id_", IDS)
def test_every_state_of_every_id_is_read(id_: str) -> None:
    """Each state that the scheme offers under an id can be reported under it."""
    for state in state_columns(support.compiled(), id_):
        colony = Colony("c", {id_: StateReport((state,))})
        (ids,) = read_colony(support.compiled(), colony).ids.values()
        assert ids == (id_,)


@pytest.mark.parametrize("id_", IDS)
def test_all_states_of_an_id_say_nothing(id_: str) -> None:
    """A set of all states is the same as not having looked."""
    columns = state_columns(support.compiled(), id_)
    character = support.compiled().character_index.get(id_)
    if character is None or support.compiled().characters[character].is_size:
        return
    every = StateReport(tuple(columns))
    nothing = StateReport(("not_looked_at",))
    for report in (every, nothing):
        assert read_colony(support.compiled(), Colony("c", {id_: report})).characters == ()
