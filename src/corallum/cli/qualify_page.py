"""What a qualification is worth, and how observers stand in it."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.text import Text

from corallum.actions.observer_files import QualifyFound, Stood
from corallum.cli.practice_page import table_of
from corallum.observers.sequential import State

__all__ = ["print_qualify", "qualify_object"]

# Items and right answers of the quiz that the action sets beside the test.
_QUIZ = (20, 17)


def qualify_object(found: QualifyFound) -> dict[str, Any]:
    """Turn a plan and how observers stand into an object."""
    figures = found.figures
    aim, curve = figures.plan.aim, figures.curve
    rows = zip(curve.accuracies.tolist(), curve.pass_chance.tolist(),
               curve.expected_items.tolist(), figures.fixed_passes, figures.quiz_passes,
               strict=True)  # fmt: skip
    return {
        "aim": {"good": aim.good, "poor": aim.poor, "good_failed": aim.good_failed,
                "poor_passed": aim.poor_passed},
        "most_items": figures.plan.largest,
        "fixed": {"items": figures.fixed.n, "right_to_pass": figures.fixed.mark,
                  "good_failed": figures.fixed.good_failed,
                  "poor_passed": figures.fixed.poor_passed},
        "quiz": {"items": _QUIZ[0], "right_to_pass": _QUIZ[1]},
        "at": [
            {"accuracy": p, "passes": passes, "expected_items": items, "fixed_passes": fixed,
             "quiz_passes": quiz}
            for p, passes, items, fixed, quiz in rows
        ],
        "observers": {one.observer: _stood(one) for one in found.stood},
    }  # fmt: skip


def _stood(one: Stood) -> dict[str, Any]:
    """Turn how one observer stands into an object."""
    standing = one.standing
    return {
        "state": standing.state.value, "counted": standing.n, "right": standing.right,
        "right_to_pass": standing.right_to_pass, "wrong_to_fail": standing.wrong_to_fail,
        "most_left": standing.most_left, "repeats": one.repeats, "after_decision": one.after,
    }  # fmt: skip


def print_qualify(found: QualifyFound) -> None:
    """Print how often the test passes whom, beside tests of a set length."""
    console = Console(highlight=False)
    figures = found.figures
    aim, curve = figures.plan.aim, figures.curve
    console.print(Text(f"Passes {aim.good:.0%} right, fails {aim.poor:.0%} right; either goes "
                       f"wrong at most {aim.good_failed:.1%} of the time. At most "
                       f"{figures.plan.largest} items.", style="bold"))  # fmt: skip
    fixed = figures.fixed
    table = table_of(
        "right in the survey", "passes", "items on average",
        f"a test of {fixed.n}, {fixed.mark} right", f"a quiz of {_QUIZ[0]}, {_QUIZ[1]} right",
    )  # fmt: skip
    for i, accuracy in enumerate(curve.accuracies.tolist()):
        table.add_row(
            f"{accuracy:.0%}", f"{curve.pass_chance[i]:.1%}", f"{curve.expected_items[i]:.0f}",
            f"{figures.fixed_passes[i]:.1%}", f"{figures.quiz_passes[i]:.1%}",
        )  # fmt: skip
    console.print(table)
    if found.stood:
        _print_stood(console, found)


def _print_stood(console: Console, found: QualifyFound) -> None:
    """Print how each observer stands."""
    table = table_of("observer", "stands", "right", "still needs")
    for one in found.stood:
        standing = one.standing
        needs = ""
        if standing.state is State.GO_ON:
            needs = (f"passes after {standing.right_to_pass} right in a row, fails after "
                     f"{standing.wrong_to_fail} wrong; {standing.most_left} at most")  # fmt: skip
        right = f"{standing.right} of {standing.n}"
        table.add_row(Text(one.observer), standing.state.value, right, needs)
    console.print(table)
    for one in found.stood:
        for n, why in ((one.repeats, "answered before"), (one.after, "after the decision")):
            if n:
                console.print(Text(f"{one.observer}: {n} not counted, {why}.", style="dim"))
