"""Answers beside the truth in a few words, for the tests of what is learned from them."""

from __future__ import annotations

from collections.abc import Mapping

from corallum.observers.answered import Answered
from corallum.practice.beside import answers_beside_truth
from corallum.practice.item import Item, PracticeAnswer
from corallum.records.colony import Report, SizeReport, StateReport
from support import compiled

Pair = tuple[Item, PracticeAnswer]


def pair(
    true: Mapping[str, str | float],
    said: Mapping[str, str | list[str] | float | Report],
    genus: str = "Favites",
) -> Pair:
    """An invented colony, and what somebody said of it; sizes by eye."""
    reports: dict[str, Report] = {}
    for id_, value in said.items():
        if isinstance(value, StateReport | SizeReport):
            reports[id_] = value
        elif isinstance(value, str):
            reports[id_] = StateReport((value,))
        elif isinstance(value, list):
            reports[id_] = StateReport(tuple(value))
        else:
            reports[id_] = SizeReport(value)
    item = Item("described", genus, "", "red_sea", 1, shown=dict(true))
    return item, PracticeAnswer((genus,), 0.8, reports)


def walls(said: Mapping[str, int], true: str = "plocoid") -> list[Pair]:
    """Colonies of one wall, and how often each was said."""
    return [
        pair({"corallite_arrangement": true}, {"corallite_arrangement": state})
        for state, times in said.items()
        for _ in range(times)
    ]


def answered(pairs: list[Pair]) -> Answered:
    """Beside the truth, as the error layer takes it."""
    return answers_beside_truth(compiled(), pairs)
