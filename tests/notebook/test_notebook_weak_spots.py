"""What a reference can't do is told as the command tells it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from corallum.errors import InputError
from corallum.notebook import Reference

Command = Callable[..., list[Any]]


def test_an_assessment_is_the_commands(reference: Reference, command: Command) -> None:
    """Figures by genus and of the whole are those of the command with the same seed."""
    found = reference.assess("eastern_pacific", colonies=2, seed=3)
    (printed,) = command(
        "reference", "assess", "--region", "eastern_pacific", "--colonies", 2, "--seed", 3
    )

    said = printed["assessment"]
    assert found.whole().table().set_index("what")["value"].to_dict() == {
        "best genus is right": said["accuracy"]["value"], "settled": said["settled"]["value"],
        "settled but wrong": said["settled_wrong"]["value"],
        "named set holds the truth": said["coverage"]["value"],
        "genera in the named set": said["set_size"]["value"],
    }  # fmt: skip
    table = found.table()
    assert table.set_index("genus")["named_right"].to_dict() == {
        one["genus"]: one["named_right"]["value"] for one in said["genera"]
    }
    assert table["named_right"].is_monotonic_increasing
    assert len(found.characters()) == len(said["worth"])
    assert len(found.left_out()) == len(said["left_out"])


def test_limits_are_the_commands(reference: Reference, command: Command) -> None:
    """Listed pairs are those of the command, and one of them asked for by name is the same."""
    about = {"region": "eastern_pacific", "colonies": 20}
    found = reference.limits(below=0.999, **about)
    (printed,) = command(
        "reference", "limits", "--region", "eastern_pacific", "--colonies", 20, "--below", 0.999
    )

    rows = found.table().to_dict("records")
    assert rows == printed["pairs"]
    assert rows
    one = reference.limits(rows[0]["b"], rows[0]["a"], **about)
    assert one.table().to_dict("records") == rows[:1]


def test_a_comparison_is_the_commands(reference: Reference, command: Command) -> None:
    """The chance of being right by each character alone is the command's."""
    found = reference.compare("Favites", "Goniastrea").table()
    (printed,) = command("reference", "compare", "Favites", "Goniastrea")
    said = {row["character"]: row["right"] for row in printed["rows"] if row["a"] or row["b"]}
    assert found.set_index("character")["right"].to_dict() == said


def test_names_that_are_not_known_are_told_all_at_once(reference: Reference) -> None:
    """Two unknown genera are two faults, with the nearest names."""
    with pytest.raises(InputError) as caught:
        reference.compare("Favitez", "Acroporra")
    assert [fault.found for fault in caught.value.faults] == ["'Favitez'", "'Acroporra'"]
    assert "Favites" in caught.value.faults[0].remedy


def test_what_is_asked_is_checked_before_any_work(reference: Reference) -> None:
    """All faults of one question come at once."""
    with pytest.raises(InputError) as caught:
        reference.limits("Favites", "Fav", region="red_see", below=2, colonies=1)
    places = [fault.place for fault in caught.value.faults]
    assert places == ["region", "below", "colonies", ""]
    with pytest.raises(InputError, match="expected two genera, found Favites, Favites"):
        reference.limits("Favites", "Favites")
    with pytest.raises(InputError, match="expected two genera of atlantic"):
        reference.limits("Favites", "Goniastrea", region="atlantic", colonies=10)


def test_every_character_says_what_a_cell_may_hold(reference: Reference) -> None:
    """A character has states or a unit; the ids are the columns of a table."""
    table = reference.characters().table()
    assert {"growth_form", "calice_diameter_mm"} <= set(table["id"])
    sizes = table["id"].str.endswith(("_mm", "_cm", "_m"))
    assert table.loc[sizes, "unit"].notna().all()
    assert table.loc[~sizes & ~table["id"].str.endswith("_count"), "states"].map(len).gt(1).all()
