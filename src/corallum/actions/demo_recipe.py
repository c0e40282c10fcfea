"""The recipe of the invented reserve."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

__all__ = ["Recipe", "Round", "read_recipe"]


@dataclass(frozen=True, slots=True)
class Round:
    """A round of the survey: how long ago, and its share of the colonies (0 to 1)."""

    name: str
    days_ago: int
    share: float


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
    )
