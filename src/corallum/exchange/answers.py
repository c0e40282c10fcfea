"""Answers as plain JSON objects, in the shape that the command line promises."""

from __future__ import annotations

from typing import Any

from corallum.errors import InputError
from corallum.records.answer import Answer, Why

__all__ = ["answer_object", "error_object"]


def answer_object(answer: Answer) -> dict[str, Any]:
    """Turn one answer into an object."""
    verdict = answer.verdict
    return {
        "id": answer.id,
        "verdict": {
            "status": verdict.status,
            "genera": list(verdict.genera),
            "name": verdict.name,
            "probability": verdict.probability,
            "rank": verdict.rank,
            "needs": verdict.needs,
        },
        "candidates": [
            {"genus": c.genus, "family": c.family, "probability": c.probability}
            for c in answer.candidates
        ],
        "next_looks": [
            {
                "character": look.character,
                "gain_bits": look.gain_bits,
                "seconds": look.seconds,
                "gain_bits_per_second": look.gain_bits / max(look.seconds, 1.0),
                "seen": look.seen,
            }
            for look in answer.next_looks
        ],
        "fragile": [
            {
                "character": item.character,
                "change": item.change,
                "verdict": list(item.verdict),
                "probability": item.probability,
            }
            for item in answer.fragile
        ],
        "why": _why(answer.why),
        "limits": {
            "best_in_water": answer.limits.best_in_water,
            "best_with_skeleton": answer.limits.best_with_skeleton,
        },
        "cautions": list(answer.cautions),
        "reference": answer.reference,
    }


def _why(why: Why | None) -> dict[str, Any] | None:
    """Turn the reasons into an object."""
    if why is None:
        return None
    return {
        "for": why.for_,
        "against": why.against,
        "decibans": [
            {"character": entry.character, "with": list(entry.with_), "value": entry.value}
            for entry in why.decibans
        ],
        "form": why.form,
        "prior": why.prior,
        "total": why.total,
    }


def error_object(id_: str, error: InputError) -> dict[str, Any]:
    """Turn a colony that could not be read into an object."""
    return {"id": id_, "error": " ".join(str(fault) for fault in error.faults)}
