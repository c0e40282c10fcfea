"""What each observer errs on: for people the worst first, for machines all of it."""

from __future__ import annotations

import math
from typing import Any

from rich.console import Console
from rich.text import Text

from corallum.actions.observer_errors import ObserverErrors
from corallum.actions.observer_files import ErrorsFound
from corallum.cli.practice_page import table_of
from corallum.model.compiled import Floats
from corallum.model.prior import genus_prior

__all__ = ["errors_object", "print_errors"]

_MOST_ROWS = 8


def errors_object(found: ErrorsFound) -> dict[str, Any]:
    """Turn the errors of all observers into an object; rates are 0 to 1, sizes natural logs."""
    shares = genus_prior(found.compiled, found.region)[:-1]
    return {
        "region": found.region,
        "observers": {name: _observer(found, one, shares) for name, one in found.observers.items()},
    }


def _observer(found: ErrorsFound, one: ObserverErrors, shares: Floats) -> dict[str, Any]:
    """Turn the errors of one observer into an object."""
    eye, confidence = one.errors.eye, one.confidence
    (bias_low, bias_high), (sd_low, sd_high) = eye.bias_interval(), eye.sd_interval()
    pair = one.confusions.worst_pair(found.compiled, shares)
    return {
        "answers": one.answers,
        "right": one.right,
        "score": one.score,
        "accuracy": {"mean": one.accuracy, "sd": one.accuracy_sd},
        "misjudged": [
            {"character": row.character, "true": row.true, "said": row.said, "mean": row.mean,
             "low": row.low, "high": row.high, "looks": row.looks, "group": row.group}
            for row in one.errors.misjudged(found.compiled)
        ],
        "eye": {
            "bias": {"mean": eye.bias, "low": bias_low, "high": bias_high},
            "spread": {"mean": eye.sd, "low": sd_low, "high": sd_high},
            "judgements": eye.n,
        },
        "confidence": {
            "shift": confidence.shift, "low": confidence.low, "high": confidence.high,
            "stated": confidence.stated, "right": confidence.right, "word": confidence.word,
        },
        "worst_pair": None if pair is None else {"genera": list(pair[:2]), "times": pair[2]},
        "confusions": [
            {"true": row.true, "said": row.said, "mean": row.mean, "low": row.low,
             "high": row.high, "times": row.times, "looks": row.looks, "group": row.group,
             "cost": row.cost}
            for row in one.confusions.worst(found.compiled, shares)
        ],
    }  # fmt: skip


def print_errors(found: ErrorsFound) -> None:
    """Print each observer in turn."""
    console = Console(highlight=False)
    shares = genus_prior(found.compiled, found.region)[:-1]
    for i, (name, one) in enumerate(found.observers.items()):
        if i:
            console.print()
        _print_observer(console, found, name, one, shares)
    console.print(Text("Brackets are 90 % intervals. Few answers say little: rates are drawn "
                       "to the group's.", style="dim"))  # fmt: skip


def _print_observer(
    console: Console, found: ErrorsFound, name: str, one: ObserverErrors, shares: Floats
) -> None:
    """Print one observer."""
    head = f"{name}: {one.right} of {one.answers} right, mean score {one.score:.3f}."
    console.print(Text(head, style="bold"))
    mix = found.region.replace("_", " ")
    console.print(Text(f"Right in the mix of genera of {mix}: {one.accuracy:.0%} "
                       f"± {one.accuracy_sd:.0%} (standard deviation)."))  # fmt: skip
    eye, confidence = one.errors.eye, one.confidence
    if eye.n > 0:
        console.print(Text(f"Sizes by eye: {_factor(eye.bias)} "
                           f"({_factors(*eye.bias_interval())}), spread {_factors_of(eye.sd)} "
                           f"({_spreads(*eye.sd_interval())}); {eye.n:.0f} judged."))  # fmt: skip
    else:
        console.print(Text("Sizes by eye: none judged."))
    console.print(Text(f"Confidence: {confidence.stated:.0%} on average, {confidence.right:.0%} "
                       f"right; {confidence.word}."))  # fmt: skip
    pair = one.confusions.worst_pair(found.compiled, shares)
    if pair is not None:
        times = f"in {pair[2]:.3g} answer{'' if pair[2] == 1 else 's'}"
        console.print(Text(f"Mixed up most: {pair[0]} and {pair[1]}, {times}."))
    _print_misjudged(console, found, one)


def _print_misjudged(console: Console, found: ErrorsFound, one: ObserverErrors) -> None:
    """Print the states that are misjudged, the worst against the group first."""
    rows = one.errors.misjudged(found.compiled)
    if not rows:
        console.print(Text("No state misjudged of those looked at three times or more."))
        return
    table = table_of("character", "was", "said", "how often", "group", "looks")
    for row in rows[:_MOST_ROWS]:
        words = (one.replace("_", " ") for one in (row.character, row.true, row.said))
        often = f"{row.mean:.0%} ({row.low:.0%} to {row.high:.0%})"
        table.add_row(*words, often, f"{row.group:.0%}", f"{row.looks:.0f}")
    console.print(table)
    if len(rows) > _MOST_ROWS:
        more = f"{len(rows) - _MOST_ROWS} more; --json lists all."
        console.print(Text(more, style="dim"))


def _factor(log: float) -> str:
    """Write a log as percent too large or too small."""
    share = math.exp(log) - 1
    return f"{abs(share):.0%} too {'large' if share >= 0 else 'small'}"


def _factors(low: float, high: float) -> str:
    """Write an interval of logs as percent."""
    return f"{math.exp(low) - 1:+.0%} to {math.exp(high) - 1:+.0%}"


def _factors_of(sd: float) -> str:
    """Write a standard deviation of logs as a factor."""
    return f"a factor of {math.exp(sd):.2f}"


def _spreads(low: float, high: float) -> str:
    """Write an interval of it."""
    return f"{math.exp(low):.2f} to {math.exp(high):.2f}"
