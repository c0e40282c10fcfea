"""Practice on files for people, and as objects for machines."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from corallum.actions.practice_files import MadeFiles, MarkedFile
from corallum.exchange.practice_marks import Marked, add_up, astray_words, decides_words
from corallum.observers.study import Held, StudyOutcome

__all__ = ["made_object", "print_made", "print_marks", "print_study", "study_object"]

_MOST_ROWS = 60
# Loss of more than this, in natural log units, counts as lost.
_LOST = 0.01


def table_of(*heads: str) -> Table:
    """Return a table without lines, whose cells fold."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(head, overflow="fold")
    return table


def made_object(found: MadeFiles) -> dict[str, Any]:
    """Turn what was written into an object."""
    made = found.made
    return {"folder": str(found.folder), "title": made.title, "purpose": made.purpose,
            "region": made.region, "reference": made.reference, "items": len(made.items),
            "pictures": found.pictures}  # fmt: skip


def print_made(found: MadeFiles) -> None:
    """Say what was written, and what is for whom."""
    made, folder = found.made, found.folder
    n = len(made.items)
    print(f"{made.title}: {n} item{'' if n == 1 else 's'}, {made.region.replace('_', ' ')}.")
    print(f"{folder / 'set.json'}: what each item is. Keep it from the observers.")
    print(f"{folder / 'questions.csv'}: what they are told of each.")
    print(f"{folder / 'answers.csv'}: for them to fill in, one copy each.")
    if found.pictures:
        more = f"{found.pictures} drawing{'' if found.pictures == 1 else 's'}, not photos"
        print(f"{folder / 'pictures'}: {more}.")


def print_marks(found: MarkedFile) -> None:
    """Print each observer's sum, then each answer, with what speaks against a wrong one."""
    console = Console(highlight=False)
    if not found.same_reference:
        console.print(Text("The set was drawn from another reference: scores are against what "
                           "that one held, reasons are of this one."))  # fmt: skip
    table = table_of("observer", "answers", "right", "mean score", "mean confidence")
    for one in add_up(found.marked):
        table.add_row(
            Text(one.observer), str(one.answers), str(one.right), f"{one.score:.3f}",
            f"{one.confidence:.0%}",
        )  # fmt: skip
    console.print(table)
    for row in found.marked[:_MOST_ROWS]:
        _print_answer(console, row)
    left = len(found.marked) - _MOST_ROWS
    if left > 0:
        console.print(Text(f"{left} more answers; --json or --out lists all.", style="dim"))
    console.print(Text("dB: decibans for what it was. A set that names the genus is wrong where a "
                       "full look rules the other out.", style="dim"))  # fmt: skip


def _print_answer(console: Console, one: Marked) -> None:
    """Print one answer, and below it what decides and what led astray."""
    said = " or ".join(one.answer.genera) or "not in the reference"
    mark = one.worked.mark
    head = Text(f"{one.observer}, item {one.number}: ") + Text(
        "right" if mark.right else "wrong", style="bold"
    )
    rest = f", score {mark.score:.3f}. Said {said} ({one.answer.confidence:.0%})"
    console.print(head + Text(f"{rest}, was {one.item.genus}."))
    decides = "; ".join(decides_words(one.worked))
    astray = "; ".join(map(astray_words, one.worked.astray))
    if decides:
        text = f"decides against {one.worked.nearest}: {decides}"
        console.print(Padding(Text(text), (0, 0, 0, 4)))
    if astray:
        console.print(Padding(Text(f"led astray: {astray}"), (0, 0, 0, 4)))


def study_object(found: StudyOutcome) -> dict[str, Any]:
    """Turn the outcome of a study into an object."""
    plan = found.plan
    return {
        "observers": plan.observers,
        "answers": plan.answers,
        "fresh": plan.fresh,
        "kind": plan.kind.value,
        "intervals_hold": {
            name: {"held": one.held, "of": one.of, "share": one.share}
            for name, one in _intervals(found).items()
        },
        "log_loss": dict(
            zip(("unknown", "own", "true", "swapped"), found.log_loss.mean(axis=0).tolist(),
                strict=True)
        ),
        "gain": {name: _mean(values) for name, values in _gains(found).items()},
        "share_losing": found.share_losing(_LOST),
        "least_gain": float(found.own_gain.min()),
        "group_strength": found.strength,
    }  # fmt: skip


def _intervals(found: StudyOutcome) -> dict[str, Held]:
    """Return what intervals were checked."""
    return {"states": found.states, "right_states": found.right, "eye_bias": found.bias,
            "eye_spread": found.spread}  # fmt: skip


def _gains(found: StudyOutcome) -> dict[str, NDArray[np.float64]]:
    """Return log loss saved, by observer."""
    return {"own": found.own_gain, "true": found.most_gain, "swapped": found.swapped_gain}


def _mean(values: NDArray[np.float64]) -> dict[str, float]:
    """Return mean and standard error over observers."""
    error = values.std(ddof=1) / np.sqrt(len(values))
    return {"mean": float(values.mean()), "standard_error": float(error)}


_WORDS = {
    "states": "a state reported for another", "right_states": "a state reported as it is",
    "eye_bias": "bias of sizes by eye", "eye_spread": "spread of sizes by eye",
    "own": "errors learned of the observer", "true": "the true errors",
    "swapped": "errors learned of another (control)",
}  # fmt: skip


def print_study(found: StudyOutcome) -> None:
    """Print how well the intervals hold, and what the learning is worth."""
    console = Console(highlight=False)
    plan = found.plan
    size = f"{plan.observers} invented observers, {plan.answers} practice answers each"
    console.print(Text(f"{size}; errors {plan.kind.value}.", style="bold"))
    table = table_of("90 % intervals of", "hold", "of")
    for name, one in _intervals(found).items():
        table.add_row(_WORDS[name], f"{one.share:.1%}", str(one.of))
    console.print(table)
    console.print(Text(f"On {plan.fresh} fresh colonies each, log loss saved against the errors "
                       "of an unknown observer:"))  # fmt: skip
    table = table_of("with", "mean ± standard error")
    for name, values in _gains(found).items():
        mean = _mean(values)
        table.add_row(_WORDS[name], f"{mean['mean']:+.4f} ± {mean['standard_error']:.4f}")
    console.print(table)
    console.print(Text(f"{found.share_losing(_LOST):.1%} of observers lose more than {_LOST:g} "
                       f"by their own errors; the worst {found.own_gain.min():+.4f}."))  # fmt: skip
