"""Lines as the page for a phone saves them, written by hand."""

from __future__ import annotations

import copy
import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from corallum.records.answer import Verdict

__all__ = ["LOG", "OTHER_REFERENCE", "line_of", "record_of", "shown_of"]

OTHER_REFERENCE = "0" * 64
_AT = "2026-03-14T11:0{}:00+03:00"


def _entry(minute: int, kind: str, value: object, subject: str = "") -> dict[str, Any]:
    """One entry of a log."""
    return {"at": _AT.format(minute), "kind": kind, "subject": subject, "value": value}


# A colony whose growth form was seen as massive first, and then as encrusting.
LOG = (
    _entry(0, "region", "red_sea"),
    _entry(0, "observer", "Observer 1"),
    _entry(0, "seen_on", "2026-03-14"),
    _entry(1, "report", {"state": ["massive"], "sure": True}, "growth_form"),
    _entry(2, "report", {"state": ["plocoid", "cerioid"], "sure": False}, "corallite_arrangement"),
    _entry(3, "report", {"value": 7.5, "n": 5, "method": "ruler", "sure": True},
           "calice_diameter_mm"),
    _entry(4, "condition", value=True, subject="shaded"),
    _entry(5, "report", {"state": ["encrusting"], "sure": True}, "growth_form"),
    _entry(6, "note", "Under the overhang."),
    _entry(7, "name", "tag 14"),
)  # fmt: skip


def record_of(
    log: Sequence[dict[str, Any]] = LOG, id_: str = "0123456789ab", **changes: object
) -> dict[str, Any]:
    """A record as the phone keeps it."""
    kept = copy.deepcopy(list(log))
    return {"format": 1, "id": id_, "started_at": _AT.format(0), "log": kept, "shown": [],
            **changes}  # fmt: skip


def shown_of(verdict: Verdict, upto: int, reference: str) -> dict[str, Any]:
    """An answer as the phone showed it."""
    plain = {**asdict(verdict), "genera": list(verdict.genera)}
    return {
        "at": _AT.format(8), "upto": upto, "verdict": plain, "candidates": [],
        "limits": {}, "reference": reference, "version": "0.1.0, 0 edits",
    }  # fmt: skip


def line_of(record: dict[str, Any], **changes: object) -> str:
    """A line of the file: the colony that a log ends in, and the record beside it."""
    reports: dict[str, Any] = {}
    conditions: dict[str, bool] = {}
    once: dict[str, Any] = {"name": None, "region": None, "observer": None}
    for entry in record["log"]:
        if entry["kind"] == "report":
            reports[entry["subject"]] = entry["value"]
        elif entry["kind"] == "condition":
            conditions[entry["subject"]] = entry["value"]
        else:
            once[entry["kind"]] = entry["value"]
    colony = {
        "id": once["name"] or record["id"], "region": once["region"],
        "observer": once["observer"],
        "conditions": [name for name, is_so in conditions.items() if is_so],
        "observations": {id_: value for id_, value in reports.items() if value is not None},
        "record": record,
    }  # fmt: skip
    return json.dumps({**colony, **changes}) + "\n"
