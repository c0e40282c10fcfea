"""Agreement and consensus as plain JSON objects, in the shape that the command line promises."""

from __future__ import annotations

import csv
import io
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from corallum.observers.agreement import Agreement, Pair
from corallum.observers.coefficient import Coefficient
from corallum.observers.consensus import Consensus

__all__ = ["agreement_object", "consensus_csv", "consensus_object"]

# Labels less probable than this are left out of an item's list.
_LEAST_SHOWN = 1e-6


def agreement_object(found: Agreement) -> dict[str, Any]:
    """Turn the coefficients of one table into an object."""
    answer: dict[str, Any] = {
        "cohen_kappa": _coefficient(found.cohen),
        "fleiss_kappa": _coefficient(found.fleiss),
        "krippendorff_alpha": _coefficient(found.alpha),
        "gwet_ac1": _coefficient(found.ac1),
    }
    if found.weighted is not None:
        answer["weighted_kappa"] = _coefficient(found.weighted)
    return answer | {
        "items": found.n_items,
        "observers": found.n_observers,
        "labels": list(found.labels),
        "readings": found.n_readings,
        "repeats": found.n_repeats,
        "most_kappa": found.most_kappa,
        "fleiss_by_label": {label: _number(value) for label, value in found.by_label},
        "pairs": [_pair(pair) for pair in found.pairs],
        "repeats_by_observer": {
            row.observer: {"repeats": row.repeats, "same": row.same} for row in found.repeats
        },
    }


def _number(value: float) -> float | None:
    """Return a number, or None where there is none."""
    return None if math.isnan(value) else value


def _coefficient(found: Coefficient) -> dict[str, Any]:
    """Turn one coefficient into an object, with a reason where it has no value."""
    answer: dict[str, Any] = {"value": found.value, "low": found.low, "high": found.high}
    if found.reason is not None:
        answer["reason"] = found.reason
    if found.note is not None:
        answer["note"] = found.note
    return answer


def _pair(pair: Pair) -> dict[str, Any]:
    """Turn two observers into an object."""
    difference = pair.difference
    return {
        "observers": [pair.first, pair.second],
        "both_read": difference.n_both,
        "agreements": difference.agreements,
        "taxonomic_disagreement_percent": _number(difference.disagreement_percent),
        "enumeration_of_sum_percent": _number(difference.enumeration_of_sum_percent),
        "enumeration_of_mean_percent": _number(difference.enumeration_of_mean_percent),
        "cohen_kappa": _coefficient(pair.kappa),
    }


def consensus_object(found: Consensus, below: float) -> dict[str, Any]:
    """Turn a consensus into an object; items less probable than ``below`` are queued."""
    readings, fit = found.readings, found.fit
    labels = readings.labels
    answer: dict[str, Any] = {
        "converged": fit.converged,
        "log_likelihood": fit.log_likelihood,
        "prevalence": dict(zip(labels, found.prevalence.tolist(), strict=True)),
        "items": _items(found),
        "observers": {
            observer: _rows(labels, matrix)
            for observer, matrix in zip(readings.observers, found.matrices, strict=True)
        },
        "readings_by_observer": {
            observer: dict(zip(labels, row, strict=True))
            for observer, row in zip(readings.observers, found.weights.tolist(), strict=True)
        },
        "queue": [readings.items[i] for i in found.queue(below).tolist()],
        "note": found.note,
        "rounds": len(fit.bounds),
        "starts": {
            "tried": found.starts.tried,
            "same": found.starts.same,
            "agree": found.starts.agree,
            "best_bound": found.starts.best_bound,
            "changed": found.starts.changed,
            "kept": found.starts.kept,
        },
    }
    if found.group is not None:
        answer["group"] = {
            "strength": found.strength,
            "bound": fit.bounds[-1],
            "rows": _rows(labels, found.group),
        }
    if found.sampled is not None:
        answer["sampled"] = {"apart": found.sampled.apart}
    return answer


def _rows(labels: tuple[str, ...], matrix: NDArray[np.float64]) -> dict[str, dict[str, float]]:
    """Turn rows into an object by true and said label."""
    rows = zip(labels, matrix.tolist(), strict=True)
    return {true: dict(zip(labels, row, strict=True)) for true, row in rows}


def _items(found: Consensus) -> list[dict[str, Any]]:
    """Turn each item into an object, with every label that it may well have."""
    labels = found.readings.labels
    shown: list[dict[str, float]] = [{} for _ in found.readings.items]
    likely = found.posterior >= _LEAST_SHOWN
    rows, columns = np.nonzero(likely)
    shares = found.posterior[likely]
    for row, column, share in zip(rows.tolist(), columns.tolist(), shares.tolist(), strict=True):
        shown[row][labels[column]] = share
    every = zip(
        found.readings.items, found.label.tolist(), found.probability.tolist(), shown, strict=True
    )
    return [
        {"item": item, "label": labels[label], "probability": p, "posterior": posterior}
        for item, label, p, posterior in every
    ]


def consensus_csv(found: Consensus, below: float) -> str:
    """Write the consensus as a table: item, label, probability, and whether it is queued."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["item", "label", "probability", "adjudicate"])
    labels = found.readings.labels
    rows = zip(found.readings.items, found.label.tolist(), found.probability.tolist(), strict=True)
    for item, label, p in rows:
        table.writerow([item, labels[label], f"{p:.6f}", "yes" if p < below else "no"])
    return out.getvalue()
