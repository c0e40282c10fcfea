"""Marked answers as a table and as plain JSON objects."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.worked import Astray, Worked

__all__ = [
    "MARK_COLUMNS",
    "Marked",
    "ObserverMarks",
    "add_up",
    "astray_words",
    "decides_words",
    "marks_csv",
    "marks_object",
]

MARK_COLUMNS = (
    "observer", "item", "genus", "said", "confidence", "score", "right", "nearest", "astray",
    "decides",
)  # fmt: skip
# Decibans that still round to something.
_LEAST_SHOWN = 0.05


@dataclass(frozen=True, slots=True)
class Marked:
    """One answer to one item (counted from 1), marked and explained."""

    observer: str
    number: int
    item: Item
    answer: PracticeAnswer
    worked: Worked


@dataclass(frozen=True, slots=True)
class ObserverMarks:
    """Answers of one observer: how many, right ones, mean score and confidence (0 to 1)."""

    observer: str
    answers: int
    right: int
    score: float
    confidence: float


def add_up(marked: Sequence[Marked]) -> tuple[ObserverMarks, ...]:
    """Return the marks of each observer, in the order in which they first come."""
    by_observer: dict[str, list[Marked]] = {}
    for one in marked:
        by_observer.setdefault(one.observer, []).append(one)
    return tuple(
        ObserverMarks(
            observer, len(own), sum(one.worked.mark.right for one in own),
            float(np.mean([one.worked.mark.score for one in own])),
            float(np.mean([one.answer.confidence for one in own])),
        )
        for observer, own in by_observer.items()
    )  # fmt: skip


def astray_words(one: Astray) -> str:
    """Say what was misjudged, and what that took from the truth."""
    id_ = one.character.replace("_", " ")
    return f"{id_}: said {one.said}, was {one.true} ({-one.decibans:+.1f} dB)"


def decides_words(worked: Worked) -> list[str]:
    """Say what speaks for the truth, the weightiest first, in decibans."""
    return [
        f"{', '.join((entry.character, *entry.with_)).replace('_', ' ')} ({entry.value:+.1f} dB)"
        for entry in worked.decides
        if entry.value >= _LEAST_SHOWN
    ]


def marks_csv(marked: Sequence[Marked]) -> str:
    """Write one row an answer; several genera or looks are parted by ``|`` and ``;``."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(MARK_COLUMNS)
    for one in marked:
        mark = one.worked.mark
        table.writerow([
            one.observer, one.number, one.item.genus, "|".join(one.answer.genera),
            f"{one.answer.confidence:g}", f"{mark.score:.4f}", "yes" if mark.right else "no",
            one.worked.nearest, "; ".join(map(astray_words, one.worked.astray)),
            "; ".join(decides_words(one.worked)),
        ])  # fmt: skip
    return out.getvalue()


def marks_object(marked: Sequence[Marked]) -> dict[str, Any]:
    """Turn marked answers into an object: each answer, and each observer's sum."""
    return {
        "answers": [_answer(one) for one in marked],
        "observers": {
            one.observer: {"answers": one.answers, "right": one.right, "score": one.score,
                           "confidence": one.confidence}
            for one in add_up(marked)
        },
    }  # fmt: skip


def _answer(one: Marked) -> dict[str, Any]:
    """Turn one marked answer into an object."""
    worked = one.worked
    return {
        "observer": one.observer,
        "item": one.number,
        "genus": one.item.genus,
        "said": list(one.answer.genera),
        "confidence": one.answer.confidence,
        "seconds": one.answer.seconds,
        "score": worked.mark.score,
        "right": worked.mark.right,
        "honest_set": list(worked.mark.honest_set),
        "nearest": worked.nearest,
        "decides": [
            {"character": entry.character, "with": list(entry.with_), "decibans": entry.value}
            for entry in worked.decides
        ],
        "astray": [
            {"character": look.character, "said": look.said, "true": look.true,
             "decibans": look.decibans}
            for look in worked.astray
        ],
        "more": [
            {"character": look.character, "gain_bits": look.gain_bits, "seconds": look.seconds}
            for look in worked.more
        ],
        "said_by_report": [{"genus": g, "probability": p} for g, p in worked.said_by_report],
        "best": [{"genus": g, "probability": p} for g, p in worked.best],
    }  # fmt: skip
