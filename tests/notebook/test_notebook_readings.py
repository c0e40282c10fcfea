"""Agreement and consensus of a data frame, against published figures and the command."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from corallum.errors import InputError
from corallum.notebook import agreement, consensus

Command = Callable[..., list[Any]]

READINGS = Path(__file__).parents[2] / "docs/examples/readings.csv"
# Krippendorff 2011, Computing Krippendorff's alpha-reliability, example C: four observers of
# twelve units; a dot was not read. Gwet 2014 has the same table.
FOUR = {
    "A": "1 2 3 3 2 1 4 1 2 . . .", "B": "1 2 3 3 2 2 4 1 2 5 . 3",
    "C": ". 3 3 3 2 3 4 2 2 5 1 .", "D": "1 2 3 3 2 4 4 1 2 5 1 .",
}  # fmt: skip


def two_raters(counts: list[list[int]]) -> list[dict[str, object]]:
    """Readings of a table of two raters."""
    rows: list[dict[str, object]] = []
    for a, b in product(range(len(counts)), range(len(counts))):
        for _ in range(counts[a][b]):
            item = len(rows)
            rows += [{"item": item, "observer": "A", "label": f"label {a}"},
                     {"item": item, "observer": "B", "label": f"label {b}"}]  # fmt: skip
    return rows


def test_kappa_is_that_of_cohen_1960() -> None:
    """Cohen 1960 prints kappa .492 for 200 cases; the highest possible is .831."""
    found = agreement(two_raters([[88, 14, 18], [10, 40, 10], [2, 6, 12]]))
    table = found.table().set_index("coefficient")
    assert table.loc["Cohen's kappa", "value"] == pytest.approx(0.492, abs=5e-4)
    assert found.record.most_kappa == pytest.approx(0.831, abs=5e-4)


def test_alpha_and_ac1_are_those_printed_with_readings_missing() -> None:
    """Krippendorff 2011 prints alpha .743; Gwet 2014 prints AC1 .775."""
    wide = pd.DataFrame({who: text.split() for who, text in FOUR.items()}).rename_axis("item")
    long = wide.reset_index().melt("item", var_name="observer", value_name="label")
    long["label"] = long["label"].replace(".", None)

    found = agreement(long).table().set_index("coefficient")["value"]

    assert found["Krippendorff's alpha"] == pytest.approx(0.743, abs=5e-4)
    assert found["Gwet's AC1"] == pytest.approx(0.775, abs=5e-4)


def test_agreement_is_the_commands(command: Command) -> None:
    """Coefficients, intervals and pairs of a frame are the command's of the file."""
    found = agreement(pd.read_csv(READINGS), draws=50, seed=4)
    (printed,) = command("observers", "agreement", READINGS, "--draws", 50, "--seed", 4)

    table = found.table().set_index("coefficient")
    for name, key in (("Fleiss' kappa", "fleiss_kappa"), ("Gwet's AC1", "gwet_ac1"),
                      ("Krippendorff's alpha", "krippendorff_alpha")):  # fmt: skip
        said = printed[key]
        assert table.loc[name, ["value", "low", "high"]].tolist() == [
            said["value"], said["low"], said["high"]
        ]  # fmt: skip
    assert table.loc["Cohen's kappa", "mind"] == printed["cohen_kappa"]["reason"]
    assert found.pairs().table()["taxonomic_disagreement_percent"].tolist() == [
        pair["taxonomic_disagreement_percent"] for pair in printed["pairs"]
    ]


def test_consensus_is_the_commands(command: Command) -> None:
    """Labels, probabilities, the queue and errors are the command's."""
    options = {"hierarchical": True, "strength": 8.0, "starts": 1, "below": 0.99}
    found = consensus(pd.read_csv(READINGS), **options)
    (printed,) = command("observers", "consensus", READINGS, "--hierarchical", "--strength", 8,
                         "--starts", 1, "--below", 0.99)  # fmt: skip

    items = found.table()
    assert items[["item", "label", "probability"]].to_dict("records") == [
        {key: one[key] for key in ("item", "label", "probability")} for one in printed["items"]
    ]
    assert found.queue().table()["item"].tolist() == printed["queue"]
    assert set(items.loc[items["adjudicate"], "item"]) == set(printed["queue"])
    errors = (
        found.errors().table().set_index(["observer", "true", "said"])["probability"].sort_index()
    )
    for observer, rows in printed["observers"].items():
        for true, row in rows.items():
            assert errors[observer, true].to_dict() == row


def test_every_fault_of_a_table_comes_at_once() -> None:
    """Rows are counted as in the file, the header being row 1."""
    rows = [
        {"item": "c1", "observer": "", "label": "x"},
        {"item": "", "observer": "A", "label": "x"},
    ]
    with pytest.raises(InputError) as caught:
        agreement(rows)
    assert [f.place for f in caught.value.faults] == [
        "row 2, column observer",
        "row 3, column item",
    ]


def test_what_is_asked_is_checked() -> None:
    """A level, weights or draws that there are not are told together."""
    with pytest.raises(InputError) as caught:
        agreement(READINGS, level="rank", weights="cubic", draws=-1)
    assert [fault.place for fault in caught.value.faults] == ["level", "weights", "draws"]
    with pytest.raises(InputError, match="hierarchical: expected True"):
        consensus(READINGS, sample=10)
