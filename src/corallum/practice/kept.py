"""Practice as a programme keeps it: sets, answers and qualifications."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from corallum.errors import Fault, InputError
from corallum.practice.item import Item, PracticeAnswer
from corallum.records.colony import Report, SizeReport, StateReport

__all__ = [
    "KeptAnswer", "PracticeSet", "Qualification", "answer_from_text", "answer_to_text",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class PracticeSet:
    """Items in order; ``made_for`` is the person it is meant for, None is anybody.

    ``reference_hash`` is of the reference that drew the items. A set that is not
    ``open`` takes no answers.
    """

    id: str
    title: str
    purpose: str
    region: str
    made_for: str | None
    items: tuple[Item, ...]
    reference_hash: str
    made_at: datetime
    open: bool


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """One answer, with the mark that it got when it was given."""

    history: int
    practice_set: str
    item: int
    person: str
    at: datetime
    answer: PracticeAnswer
    score: float
    right: bool
    qualification: str | None


@dataclass(frozen=True, slots=True)
class Qualification:
    """A test of one person for some genera (none named: all of the region).

    ``plan`` holds what the sequential plan was made from; ``outcome`` is open, passed,
    failed or stopped.
    """

    id: str
    person: str
    practice_set: str
    genera: tuple[str, ...]
    plan: Mapping[str, float]
    outcome: str
    started_at: datetime
    ended_at: datetime | None
    expires_on: date | None


def answer_to_text(answer: PracticeAnswer) -> str:
    """Write an answer as text that a colony file's reader would know again."""
    reports = {id_: _report(report) for id_, report in answer.reports.items()}
    found = {"genera": list(answer.genera), "confidence": answer.confidence,
             "reports": reports, "seconds": answer.seconds}  # fmt: skip
    return json.dumps(found, sort_keys=True, ensure_ascii=False, allow_nan=False)


def answer_from_text(text: str) -> PracticeAnswer:
    """Read an answer that was kept.

    Raises
    ------
    InputError
        Where it was altered into something else.
    """
    try:
        found = json.loads(text)
        reports = {str(id_): _from_report(value) for id_, value in found["reports"].items()}
        genera = tuple(str(genus) for genus in found["genera"])
        return PracticeAnswer(genera, float(found["confidence"]), reports, found["seconds"])
    except (ValueError, LookupError, TypeError, AttributeError, ArithmeticError) as error:
        fault = Fault("practice answer", "", "an answer", text[:40], "Restore a backup.")
        raise InputError([fault]) from error


def _report(report: Report) -> dict[str, Any]:
    """Write one report."""
    if isinstance(report, StateReport):
        return {"states": list(report.states), "sure": report.sure}
    return {"value": report.value, "n": report.n, "method": report.method, "sure": report.sure}


def _from_report(value: Mapping[str, Any]) -> Report:
    """Read one report."""
    if "states" in value:
        return StateReport(tuple(map(str, value["states"])), bool(value["sure"]))
    return SizeReport(
        float(value["value"]), int(value["n"]), str(value["method"]), bool(value["sure"])
    )
