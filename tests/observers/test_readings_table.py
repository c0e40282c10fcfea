"""Readings as codes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.observers.readings import label_order, put_in_order, table_readings

ROWS = st.lists(
    st.tuples(st.sampled_from("abcd"), st.sampled_from("ABC"), st.sampled_from("xyz")), min_size=1
)


@given(ROWS)
def test_codes_lead_back_to_the_rows(rows: list[tuple[str, str, str]]) -> None:
    """Every row can be read off the codes, in its order, repeats too."""
    found = table_readings(rows)
    back = [
        (found.items[i], found.observers[o], found.labels[k])
        for i, o, k in zip(found.item, found.observer, found.label, strict=True)
    ]
    assert back == rows


@given(ROWS)
def test_the_first_reading_is_kept(rows: list[tuple[str, str, str]]) -> None:
    """The table holds the first label of each observer and item, and -1 where there is none."""
    first: dict[tuple[str, str], str] = {}
    for item, observer, label in rows:
        first.setdefault((item, observer), label)
    found = table_readings(rows)
    for i, item in enumerate(found.items):
        for o, observer in enumerate(found.observers):
            code = found.table[i, o]
            assert (found.labels[code] if code >= 0 else None) == first.get((item, observer))
            assert found.of_observer(o)[i] == code


@given(ROWS)
def test_counts_add_up(rows: list[tuple[str, str, str]]) -> None:
    """Counts of labels by item add up to the number of readings."""
    found = table_readings(rows)
    assert found.counts.sum() == len(rows)
    assert len(found.first) == len({row[:2] for row in rows})


@pytest.mark.parametrize(
    ("labels", "order"),
    [
        pytest.param(["10", "9", "2.5"], ("2.5", "9", "10"), id="numbers by size"),
        pytest.param(["10", "9", "b"], ("10", "9", "b"), id="texts by letters"),
        pytest.param(["nan", "2", "10"], ("10", "2", "nan"), id="nan is a text"),
    ],
)
def test_labels_are_sorted(labels: list[str], order: tuple[str, ...]) -> None:
    """Labels are sorted by number where all are numbers, else by text."""
    assert label_order(labels) == order


def test_an_order_of_ones_own() -> None:
    """Labels take the order given, which may hold one that nobody used."""
    readings = table_readings([("1", "A", "low"), ("2", "A", "high")])
    found = put_in_order(readings, ["low", "middle", "high"])
    assert found.labels == ("low", "middle", "high")
    assert found.label.tolist() == [0, 2]


def test_an_order_must_be_whole() -> None:
    """An order with a label missing and one twice names both."""
    readings = table_readings([("1", "A", "low"), ("2", "A", "high")])
    with pytest.raises(InputError) as error:
        put_in_order(readings, ["low", "low"])
    assert str(error.value).splitlines() == [
        "order: expected each label once, found 'low'. Keep one.",
        "order: expected every label of the readings, found none 'high'. Add it in its place.",
    ]


def test_an_empty_table_has_no_readings() -> None:
    """No row gives no reading."""
    found = table_readings([])
    assert (len(found), found.labels) == (0, ())
    assert found.table.shape == (0, 0)
    assert np.asarray(found.counts.sum()) == 0
