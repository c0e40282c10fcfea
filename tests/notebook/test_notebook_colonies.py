"""Colonies in a data frame are named as the same colonies in a file are."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from corallum.errors import InputError
from corallum.notebook import Reference

Command = Callable[..., list[Any]]

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
COLONIES = EXAMPLES / "colonies.csv"
ROW = {"id": "c1", "growth_form": "massive", "corallite_arrangement": "plocoid"}


class Frame:
    """What some other library's data frame may look like."""

    def __init__(self, rows: list[dict[str, object]]) -> None:
        self.rows = rows

    def to_dict(self, orient: str) -> list[dict[str, object]]:
        """The rows, whichever way is asked for."""
        assert orient == "records"
        return self.rows


def test_a_frame_is_named_as_the_command_names_the_file(
    reference: Reference, command: Command
) -> None:
    """Verdicts, probabilities, looks, fragile reports and limits are those of the command."""
    printed = command("determine", COLONIES)
    answers = reference.determine(pd.read_csv(COLONIES))

    table = answers.table()
    for said, one, row in zip(printed[:2], answers, table.itertuples(), strict=True):
        assert one.id == said["id"] == row.id
        assert row.status == said["verdict"]["status"]
        assert row.probability == said["verdict"]["probability"]
        assert list(one.probabilities.items()) == [
            (c["genus"], c["probability"]) for c in said["candidates"]
        ]
        assert one.next_looks().table()["gain_bits"].tolist() == [
            look["gain_bits"] for look in said["next_looks"]
        ]
        assert one.check_again().table()["change"].tolist() == [
            item["change"] for item in said["fragile"]
        ]
        assert row.best_in_water == said["limits"]["best_in_water"]
        parts = one.why().table()["decibans"]
        assert parts.sum() == pytest.approx(said["why"]["total"], abs=1e-9)
    assert [(bad.id, str(bad)) for bad in answers.bad] == [(printed[2]["id"], printed[2]["error"])]


def test_probabilities_of_all_genera_sum_to_one(reference: Reference) -> None:
    """What is listed sums to at most 1, and what is left out is less than 1e-6 a genus."""
    for one in reference.determine(COLONIES):
        total = sum(one.probabilities.values())
        assert 1 - 135e-6 <= total <= 1 + 1e-9


def same(reference: Reference, *given: Any) -> bool:  # noqa: ANN401  whatever may be a table
    """Whether all are answered alike."""
    found = [[one.record for one in reference.determine(item)] for item in given]
    return all(one == found[0] for one in found)


def test_every_kind_of_table_says_the_same(reference: Reference) -> None:
    """A data frame, another's frame, rows, one row and the JSON form are one colony."""
    whole = {"id": "c1", "observations": {k: v for k, v in ROW.items() if k != "id"}}
    assert same(reference, pd.DataFrame([ROW]), Frame([dict(ROW)]), [ROW], ROW, [whole])


@pytest.mark.parametrize(
    "missing", [None, np.nan, pd.NA, pd.NaT, ""], ids=["None", "nan", "NA", "NaT", "empty"]
)
def test_a_missing_cell_was_not_looked_at(reference: Reference, missing: object) -> None:
    """Whatever a frame puts where there is nothing is read as nothing."""
    assert same(reference, [ROW], [ROW | {"columella": missing, "valley_width_mm.n": missing}])


def test_a_gap_in_a_column_of_whole_numbers_is_no_fault(reference: Reference) -> None:
    """Where pandas turns 5 into 5.0, it is still five readings and the id 7."""
    size = {"calice_diameter_mm": 7, "calice_diameter_mm.n": 5}
    frame = pd.DataFrame([ROW | size | {"id": 7}, ROW | {"id": None}])
    assert frame["calice_diameter_mm.n"].dtype == np.float64

    answers = reference.determine(frame)

    assert (
        answers.of(7).record == next(iter(reference.determine([ROW | size | {"id": "7"}]))).record
    )


def test_a_list_in_a_cell_is_a_set_of_states(reference: Reference) -> None:
    """A list and its states joined by bars are one report."""
    assert same(
        reference,
        [ROW | {"corallite_arrangement": ["plocoid", "cerioid"]}],
        [ROW | {"corallite_arrangement": "plocoid|cerioid"}],
    )


@pytest.mark.parametrize(
    ("given", "told"),
    [
        pytest.param(7, "expected a data frame or rows, found int", id="a number"),
        pytest.param([], "expected rows, found none at all", id="nothing"),
        pytest.param([1], "row 1: expected a row by names of columns", id="no row"),
        pytest.param([ROW | {"columella": "a\nb"}], "row 2, columella: expected one", id="line"),
        pytest.param(
            pd.DataFrame([["c1", "c2"]], columns=["id", "id"]),
            "columns: expected each once, found id", id="column twice",
        ),
    ],
)  # fmt: skip
def test_what_is_no_table_is_refused(reference: Reference, given: object, told: str) -> None:
    """It says what was expected, what was found, and where."""
    with pytest.raises(InputError, match=told):
        reference.determine(given)


def test_a_row_of_a_frame_is_one_colony(reference: Reference) -> None:
    """A series is named by its columns; one of bare numbers is refused by what it holds."""
    (answer,) = reference.determine(pd.DataFrame([ROW]).iloc[0])
    assert answer.id == "c1"
    with pytest.raises(InputError, match="expected a character of the scheme, found '0'"):
        reference.determine(pd.Series([1, 2]))


def test_all_faults_come_at_once(reference: Reference) -> None:
    """Where no colony can be read, every fault of every colony is told."""
    rows = [ROW | {"region": "red_see"}, ROW | {"growth_form": "massif", "depth_m": -3}]
    with pytest.raises(InputError) as caught:
        reference.determine(rows)
    assert len(caught.value.faults) == 3


def test_one_bad_colony_does_not_lose_the_others(reference: Reference) -> None:
    """It stands apart with its faults, and asking for it raises them."""
    answers = reference.determine([ROW, ROW | {"id": "bad", "growth_form": "massif"}])

    assert len(answers) == 1
    assert answers.faults().table()["place"].tolist() == ["growth_form"]
    with pytest.raises(InputError, match="massif"):
        answers.of("bad")
    with pytest.raises(InputError, match=r"expected one of c1, found 'c9'"):
        answers.of("c9")


def test_two_colonies_of_one_id_are_not_told_apart(reference: Reference) -> None:
    """Asking for the id says that there are two."""
    with pytest.raises(InputError, match="found 2 colonies"):
        reference.determine([ROW, ROW]).of("c1")


def test_a_trained_observer_is_believed_more(reference: Reference, command: Command) -> None:
    """Errors of a trained observer are those of the command's option."""
    answers = reference.determine(COLONIES, observer_errors="trained")
    printed = command("determine", COLONIES, "--observer-errors", "trained")
    assert [one.record.verdict.probability for one in answers] == [
        one["verdict"]["probability"] for one in printed[:2]
    ]


def test_without_pandas_all_but_the_table_works(
    reference: Reference, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A data frame asked for where there is no pandas names the extra that brings it."""
    monkeypatch.setitem(sys.modules, "pandas", None)
    answers = reference.determine([ROW])
    assert "c1" in repr(answers)
    with pytest.raises(InputError, match="with its extra notebook"):
        answers.table()


def test_the_json_form_is_the_files(reference: Reference) -> None:
    """A colony of the JSON form is answered as its file is."""
    path = EXAMPLES / "colony.json"
    assert same(reference, json.loads(path.read_text(encoding="utf-8")), path)
