"""The parts of the archive of colonies: its columns, its names, and histories from anybody."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import Fault
from corallum.exchange.archive.terms import TERMS
from corallum.exchange.colony_archive.context import ColonyContext, GenusFacts, TaxonName
from corallum.exchange.colony_archive.log import read_log
from corallum.exchange.colony_archive.shape import MEMBERS, VERIFICATION

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/colony-archive.md"
AT = "2026-03-14T09:30:00+00:00"
LOG: list[dict[str, Any]] = [
    {"number": 4, "at": AT, "by": "Ana", "verb": "start", "table": "colony", "row": {}},
    {"number": 5, "at": AT, "by": "Ana", "verb": "report", "table": "entry",
     "row": {"kind": "report", "subject": "columella", "measurement": None,
             "report": '{"states": ["spongy"], "sure": true}'}},
    {"number": 9, "at": AT, "by": "Ana", "verb": "undo", "undoes": 5,
     "detail": {"undoes": "report"}},
]  # fmt: skip


def context() -> ColonyContext:
    """Three genera of two orders."""
    return ColonyContext(
        "", {}, {}, {},
        genera={
            "Favites": GenusFacts("Merulinidae", "Scleractinia", "206466"),
            "Goniastrea": GenusFacts("Merulinidae", "Scleractinia"),
            "Porites": GenusFacts("Poritidae", "Scleractinia"),
            "Millepora": GenusFacts("Milleporidae", "Anthoathecata"),
        },
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "genera", "expected"),
    [
        pytest.param(
            "Favites sp.", ("Favites",),
            TaxonName("Favites", "genus", "Merulinidae",
                      "urn:lsid:marinespecies.org:taxname:206466"),
            id="a genus",
        ),
        pytest.param("cf. Porites", ("Porites",),
                     TaxonName("Porites", "genus", "Poritidae", doubt="cf."), id="a doubted one"),
        pytest.param("Merulinidae indet.", ("Favites", "Goniastrea"),
                     TaxonName("Merulinidae", "family", "Merulinidae"), id="of one family"),
        pytest.param("Favites or Goniastrea", ("Favites", "Goniastrea"),
                     TaxonName("Merulinidae", "family", "Merulinidae"), id="said as a choice"),
        pytest.param("Scleractinia indet.", ("Favites", "Porites"),
                     TaxonName("Scleractinia", "order"), id="of one order"),
        pytest.param("stony coral indet.", ("Favites", "Millepora"),
                     TaxonName("Cnidaria", "phylum"), id="of two orders"),
        pytest.param("stony coral indet.", ("Favites", None),
                     TaxonName("Cnidaria", "phylum"), id="or something else"),
        pytest.param("stony coral indet.", (None,), TaxonName("Cnidaria", "phylum"), id="neither"),
        pytest.param("Nova sp.", ("Nova",), TaxonName("Nova", "genus"), id="not in the reference"),
    ],
)  # fmt: skip
def test_a_set_gets_the_closest_name_that_holds_all_of_it(
    name: str, genera: tuple[str | None, ...], expected: TaxonName
) -> None:
    """Genus, common family, common order, or the phylum of them all."""
    assert context().taxon(name, genera) == expected


def test_every_column_is_a_term_and_is_explained() -> None:
    """Each column is a term of a standard, once in its table, and stands on the page."""
    page = PAGE.read_text(encoding="utf-8")
    for member in MEMBERS:
        assert len(set(member.names)) == len(member.names)
        for name in member.names:
            assert name in TERMS
            assert f"`{name}`" in page
    for words in VERIFICATION.values():
        assert f"`{words}`" in page


def test_a_history_is_read() -> None:
    """A start, a look, and what undoes it."""
    faults: list[Fault] = []
    found = read_log(LOG, "here", faults)

    assert faults == []
    assert [(one.number, one.table, one.undoes) for one in found] == [
        (4, "colony", None), (5, "entry", None), (9, "", 5),
    ]  # fmt: skip


_json = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(_json)
def test_any_json_is_a_history_or_a_fault(value: object) -> None:
    """Nothing from outside makes the reader fail in another way."""
    faults: list[Fault] = []
    found = read_log(value, "here", faults)

    assert faults or found


@given(st.data())
def test_a_history_that_was_altered_anywhere_is_read_or_told(data: st.DataObject) -> None:
    """Any one value is changed for any other: it still fits, or there is a fault."""
    log = copy.deepcopy(LOG)
    entry = data.draw(st.sampled_from(log))
    inside = entry["row"] if entry.get("row") and data.draw(st.booleans()) else entry
    key = data.draw(st.sampled_from(sorted(inside)))
    inside[key] = data.draw(_json)
    faults: list[Fault] = []
    found = read_log(log, "here", faults)

    assert len(found) == len(log) or faults
    assert all(re.search("Export the archive again", one.remedy) for one in faults)
    json.dumps([fault.found for fault in faults])
