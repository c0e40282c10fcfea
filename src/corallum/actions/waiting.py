"""What waits for somebody: the start page in one question."""

from __future__ import annotations

import dataclasses
import json
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from corallum.actions.programme_reference import programme_library
from corallum.actions.references import assess_reference
from corallum.model.assess import (
    Assessment,
    CharacterWorth,
    Figure,
    GenusFate,
    GenusWorth,
)
from corallum.records.colony_record import ColonyRow
from corallum.store.colonies import Wanted, count_rows, genus_counts, list_rows
from corallum.store.history import time_text
from corallum.store.opinions import keep_assessment, kept_assessment
from corallum.store.programme import Programme

__all__ = ["Waiting", "WeakGenus", "waiting_work", "weak_spots"]

_ROWS = 10
_WEAK = 8
# Fewer colonies than this say nothing about a genus.
_LEAST_COLONIES = 3
_UNSETTLED = ("open", "not_separable_in_water", "not_in_reference")
_PER_GENUS = 20


@dataclass(frozen=True, slots=True)
class WeakGenus:
    """A name under which many records stay unsettled; ``share`` is 0 to 1."""

    name: str
    colonies: int
    unsettled: int
    share: float


@dataclass(frozen=True, slots=True)
class Waiting:
    """What waits, with the first few of each; counts are of all."""

    readings: int
    reading_rows: tuple[ColonyRow, ...]
    vouchers: int
    voucher_rows: tuple[ColonyRow, ...]
    weak: tuple[WeakGenus, ...]
    today: int
    today_rows: tuple[ColonyRow, ...]
    colonies: int


def waiting_work(programme: Programme, now: datetime) -> Waiting:
    """Return what waits for somebody, and what was seen today.

    Parameters
    ----------
    programme : Programme
        To look into.
    now : datetime
        Whose day, in its own time zone, is today.
    """
    wanted = {
        "readings": Wanted(waits="reading"),
        "vouchers": Wanted(waits="voucher"),
        "today": Wanted(since=now.date(), until=now.date()),
    }
    with programme.read() as connection:
        counts = {name: count_rows(connection, one) for name, one in wanted.items()}
        rows = {
            name: list_rows(connection, one, skip=0, most=_ROWS) for name, one in wanted.items()
        }
        weak = _weak(genus_counts(connection))
        colonies = count_rows(connection, Wanted())
    return Waiting(
        counts["readings"], rows["readings"], counts["vouchers"], rows["vouchers"], weak,
        counts["today"], rows["today"], colonies,
    )  # fmt: skip


def _weak(counts: tuple[tuple[str, str, int], ...]) -> tuple[WeakGenus, ...]:
    """Return the names under which most records stay unsettled."""
    everything: Counter[str] = Counter()
    unsettled: Counter[str] = Counter()
    for name, status, count in counts:
        everything[name] += count
        if status in _UNSETTLED:
            unsettled[name] += count
    found = [
        WeakGenus(name, everything[name], n, n / everything[name])
        for name, n in unsettled.items()
        if everything[name] >= _LEAST_COLONIES
    ]
    return tuple(sorted(found, key=lambda one: (-one.unsettled, one.name))[:_WEAK])


def weak_spots(
    programme: Programme,
    region: str | None,
    now: datetime,
    rng: np.random.Generator,
    progress: Callable[[float], None] = lambda _: None,
) -> Assessment:
    """Say by simulation where the programme's reference will fail.

    Slow the first time (seconds); kept for the same reference and region.

    Raises
    ------
    UnknownNameError
        Where the region is none.
    """
    library = programme_library(programme)
    key = (library.compiled.hash, region or "")
    with programme.read() as connection:
        kept = kept_assessment(connection, *key)
    if kept is not None:
        return _assessment(json.loads(kept))
    found = assess_reference(
        library, region, rng, per_genus=_PER_GENUS, seen=("w",), progress=progress
    )
    text = json.dumps(dataclasses.asdict(found))
    with programme.write() as connection:
        keep_assessment(connection, *key, time_text(now), text)
    return found


def _assessment(kept: dict[str, Any]) -> Assessment:
    """Turn what was kept into its records."""
    figures = {
        name: Figure(**kept[name])
        for name in ("accuracy", "settled", "settled_wrong", "set_size", "coverage")
    }
    genera = tuple(
        GenusFate(
            one["genus"], one["prior"], Figure(**one["named_right"]),
            tuple((name, share) for name, share in one["lost_to"]),
        )
        for one in kept["genera"]
    )  # fmt: skip
    worth = tuple(
        CharacterWorth(one["character"], Figure(**one["dropped"]), Figure(**one["added"]))
        for one in kept["worth"]
    )
    left_out = tuple(
        GenusWorth(one["genus"], Figure(**one["others"]), Figure(**one["misnamed"]))
        for one in kept["left_out"]
    )
    return Assessment(
        region=kept["region"], colonies=kept["colonies"], characters=tuple(kept["characters"]),
        genera=genera, worth=worth, left_out=left_out, **figures,
    )  # fmt: skip
