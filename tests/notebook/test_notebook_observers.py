"""What observers err on, from practice answers, as the command tells it."""

from __future__ import annotations

from pathlib import Path

import pytest

from corallum.cli.observer_errors_page import errors_object
from corallum.errors import InputError
from corallum.notebook import Reference

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
FILES = EXAMPLES / "practice-set.json", EXAMPLES / "practice-answers.csv"


def test_errors_of_observers_are_the_commands(reference: Reference) -> None:
    """Accuracy, misjudged states and confusions of each observer are the command's."""
    found = reference.observer_errors(*FILES)
    # Learned once, as it takes seconds: the command prints the same record of the same action.
    printed = errors_object(found.record)

    table = found.table().set_index("observer")
    for name, said in printed["observers"].items():
        assert table.loc[name, "answers"] == said["answers"]
        assert table.loc[name, "accuracy"] == pytest.approx(said["accuracy"]["mean"], abs=1e-12)
        assert found.misjudged(name).table()["said"].tolist() == [
            row["said"] for row in said["misjudged"]
        ]
        assert found.confusions(name).table()["true"].tolist() == [
            row["true"] for row in said["confusions"]
        ]
    assert found.plot().text.count("%") > len(table)
    with pytest.raises(InputError, match="found 'Nobody'"):
        found.misjudged("Nobody")


def test_a_set_comes_with_its_answers(reference: Reference) -> None:
    """A set without answers, and a region that there is not, are refused."""
    with pytest.raises(InputError, match="sets and answers in turn"):
        reference.observer_errors(FILES[0])
    with pytest.raises(InputError, match="red_see"):
        reference.observer_errors(*FILES, region="red_see")
