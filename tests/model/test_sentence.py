"""The verdict in one sentence says name, genera, probability and what is needed."""

from __future__ import annotations

import pytest

from corallum.model.sentence import join_genera, sentence
from corallum.records.answer import Verdict

PAIR = ("Favites", "Goniastrea")


@pytest.mark.parametrize(
    ("verdict", "said"),
    [
        pytest.param(
            Verdict("settled", ("Favites",), "Favites sp.", 0.93, "genus", "nothing"),
            "Favites sp. (93%).", id="settled",
        ),
        pytest.param(
            Verdict("open", PAIR, "Merulinidae indet.", 0.91, "family", "look"),
            "Merulinidae indet.: Favites or Goniastrea (91%). Still open: look again.", id="open",
        ),
        pytest.param(
            Verdict("not_separable_in_water", PAIR, "x", 0.9, "family", "voucher"),
            "x: Favites or Goniastrea (90%). No look in the water tells these apart; a voucher "
            "could.", id="not separable",
        ),
        pytest.param(
            Verdict("not_in_reference", (None,), "x", 0.9, "none", "second_reader"),
            "Fits nothing in the reference well: have a second reader look.", id="not there",
        ),
    ],
)  # fmt: skip
def test_each_status_has_its_sentence(verdict: Verdict, said: str) -> None:
    """A lead reads what is sure and what to do, and never a name alone."""
    assert sentence(verdict) == said


def test_a_long_list_is_counted() -> None:
    """Six genera are named, the others counted; what is no genus is something else."""
    names = ("A", "B", "C", None, "D", "E", "F", "G")
    assert join_genera(names) == "A, B, C, something else, D, E or 2 more"
