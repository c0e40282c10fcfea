"""The recipe of the invented reserve."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

__all__ = ["InventedSurveys", "Recipe", "Round", "read_recipe"]


@dataclass(frozen=True, slots=True)
class Round:
    """A round of the survey: how long ago, and its share of the colonies (0 to 1)."""

    name: str
    days_ago: int
    share: float


@dataclass(frozen=True, slots=True)
class InventedSurveys:
    """Two surveys of the same transects, and who mixes up what.

    ``strata`` are (name, area, names of sites); ``cover`` and ``fall`` are shares; ``mix``
    holds, by observer and true genus, how often each other genus is said; ``read`` names
    the observers of the survey before and after.
    """

    strata: tuple[tuple[str, float, tuple[str, ...]], ...]
    transects: int
    tape_cm: float
    second_share: float
    cover: Mapping[str, float]
    fall: Mapping[str, float]
    mix: Mapping[str, Mapping[str, Mapping[str, float]]]
    read: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Recipe:
    """What the invented programme is made of.

    ``people`` are (name, role, errors), the lead first; ``sites`` are (name, degrees
    north, degrees east, note).
    """

    name: str
    region: str
    seed: int
    colonies: int
    photos: int
    people: tuple[tuple[str, str, str], ...]
    sites: tuple[tuple[str, float, float, str], ...]
    rounds: tuple[Round, ...]
    surveys: InventedSurveys


def read_recipe() -> Recipe:
    """Return the shipped recipe."""
    text = files("corallum.data").joinpath("demo/reserve.toml").read_text("utf-8")
    found = tomllib.loads(text)
    return Recipe(
        found["name"],
        found["region"],
        found["seed"],
        found["colonies"],
        found["photos"],
        tuple((one["name"], one["role"], one["errors"]) for one in found["people"]),
        tuple(
            (one["name"], one["latitude"], one["longitude"], one["note"]) for one in found["sites"]
        ),
        tuple(Round(one["name"], one["days_ago"], one["share"]) for one in found["rounds"]),
        _surveys(found["surveys"]),
    )


def _surveys(found: Mapping[str, Any]) -> InventedSurveys:
    """Read what the surveys are made of."""
    strata = tuple((one["name"], one["area"], tuple(one["sites"])) for one in found["strata"])
    read = {when: tuple(names) for when, names in found["read"].items()}
    return InventedSurveys(
        strata, found["transects"], found["tape_cm"], found["second_share"], found["cover"],
        found["fall"], found["mix"], read,
    )  # fmt: skip
