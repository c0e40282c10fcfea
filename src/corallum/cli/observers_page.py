"""Agreement and consensus for people: what to act on first."""

from __future__ import annotations

import math

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from corallum.observers.agreement import Agreement
from corallum.observers.coefficient import Coefficient
from corallum.observers.consensus import Consensus

__all__ = ["print_agreement", "print_consensus"]

_MOST_ROWS = 12
# Errors seen less often than this are no pattern.
_LEAST_ERROR = 0.05
_LEAST_READINGS = 1.0


def _table(*heads: str) -> Table:
    """Return a table without lines, the first column of words, the rest of numbers."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for i, head in enumerate(heads):
        table.add_column(head, justify="left" if i == 0 else "right", overflow="fold")
    return table


def _more(console: Console, n: int, what: str) -> None:
    """Say how many rows were left out."""
    if n > _MOST_ROWS:
        console.print(Text(f"{n - _MOST_ROWS} more {what}; --json lists all.", style="dim"))


def print_agreement(found: Agreement) -> None:
    """Print the coefficients, then pairs of observers and labels that agree least."""
    console = Console(highlight=False)
    size = f"{found.n_items} items, {found.n_observers} observers, {len(found.labels)} labels"
    console.print(Text(f"{size}, {found.n_readings} first readings.", style="bold"))
    _coefficients(console, found)
    if found.most_kappa is not None:
        console.print(Text(f"Cohen's kappa could be {found.most_kappa:.3f} at most, "
                           "with labels used as often as they were."))  # fmt: skip
    _pairs(console, found)
    _labels(console, found)
    if found.repeats:
        table = _table("observer", "repeat readings", "same as the first")
        for row in found.repeats[:_MOST_ROWS]:
            table.add_row(Text(row.observer), str(row.repeats), f"{row.same / row.repeats:.0%}")
        console.print(table)
        _more(console, len(found.repeats), "observers")


def _coefficients(console: Console, found: Agreement) -> None:
    """Print each coefficient with its interval, or why there is none."""
    rows: list[tuple[str, Coefficient | None]] = [
        ("Cohen's kappa", found.cohen), ("weighted kappa", found.weighted),
        ("Fleiss' kappa", found.fleiss), ("Krippendorff's alpha", found.alpha),
        ("Gwet's AC1", found.ac1),
    ]  # fmt: skip
    table = _table("", "value", "95 % interval")
    remarks = []
    for name, one in rows:
        if one is None:
            continue
        if one.value is None:
            table.add_row(name, "–", "–")
            remarks.append(f"{name}: {one.reason}.")
            continue
        ends = "–" if one.low is None else f"{one.low:.3f} to {one.high:.3f}"
        table.add_row(name, f"{one.value:.3f}", ends)
        if one.note is not None:
            remarks.append(f"{name}: {one.note}.")
    console.print(table)
    for remark in remarks:
        console.print(Text(remark, style="dim"))


def _pairs(console: Console, found: Agreement) -> None:
    """Print pairs of observers, those who disagree most first."""
    if found.n_observers < 2 or not found.pairs:
        return
    table = _table("observers", "both read", "agree", "PTD %", "PDE %", "kappa")
    for pair in found.pairs[:_MOST_ROWS]:
        own = pair.difference
        agree = f"{own.agreements / own.n_both:.0%}" if own.n_both else "–"
        kappa = "–" if pair.kappa.value is None else f"{pair.kappa.value:.3f}"
        ptd, pde = own.disagreement_percent, own.enumeration_of_sum_percent
        names = Text(f"{pair.first} / {pair.second}")
        table.add_row(names, str(own.n_both), agree, f"{ptd:.1f}", f"{pde:.1f}", kappa)
    console.print(table)
    _more(console, len(found.pairs), "pairs of observers")
    console.print(Text("PTD: names that differ, over the longer list. PDE: difference of the "
                       "numbers, over their sum.", style="dim"))  # fmt: skip


def _labels(console: Console, found: Agreement) -> None:
    """Print labels, those that observers agree on least first."""
    known = sorted((value, label) for label, value in found.by_label if not math.isnan(value))
    if len(known) < 2 or found.fleiss.value is None:
        return
    table = _table("label", "kappa against the rest")
    for value, label in known[:_MOST_ROWS]:
        table.add_row(Text(label), f"{value:.3f}")
    console.print(table)
    _more(console, len(known), "labels")


def print_consensus(found: Consensus, below: float) -> None:
    """Print whether it may be trusted, items to look at again, and what observers err on."""
    console = Console(highlight=False)
    fit, readings = found.fit, found.readings
    state = "Converged" if fit.converged else "NOT converged: give it more --rounds"
    console.print(Text(f"{state} after {len(fit.bounds)} rounds; "
                       f"log likelihood {fit.log_likelihood:.4f}.", style="bold"))  # fmt: skip
    console.print(Text(_starts(found)))
    if found.strength is not None:
        console.print(Text("Errors drawn to the group's, which counts for "
                           f"{found.strength:.3g} readings of each label."))  # fmt: skip
    if found.sampled is not None:
        console.print(Text("Labels sampled; two chains differ by "
                           f"{100 * found.sampled.apart:.1f}% at most."))  # fmt: skip
    if found.note is not None:
        console.print(Text(f"Mind: {found.note}."))
    queue = found.queue(below)
    sure = len(readings.items) - len(queue)
    console.print(Text(f"{sure} of {len(readings.items)} items reach {100 * below:g}%."))
    if len(queue):
        table = _table("look again at", "label", "probability", "else")
        for i in queue[:_MOST_ROWS].tolist():
            order = np.argsort(-found.posterior[i], kind="stable")
            second = readings.labels[order[1]] if len(order) > 1 else ""
            label = readings.labels[found.label[i]]
            table.add_row(
                Text(readings.items[i]), Text(label), f"{found.probability[i]:.1%}", Text(second)
            )
        console.print(table)
        _more(console, len(queue), "items")
    _prevalence(console, found)
    _errors(console, found)


def _starts(found: Consensus) -> str:
    """Say whether other starts ended in the same place."""
    starts = found.starts
    if starts.tried == 1:
        return "One start, from the votes; --starts tries others."
    if starts.agree:
        return f"All {starts.tried} starts end in the same place."
    text = f"{starts.same} of {starts.tried} starts end in this place"
    if starts.kept == "best":
        return f"{text}, the likeliest found. Read the labels with care."
    gain = starts.best_bound - found.fit.bounds[-1]
    if gain <= 0.01:
        return f"{text}; none ends in a likelier one."
    return (
        f"{text}; the likeliest is {gain:.2f} better in log likelihood and gives "
        f"{starts.changed} items another label. --keep best shows it."
    )


def _prevalence(console: Console, found: Consensus) -> None:
    """Print the share of each label, the commonest first."""
    table = _table("label", "share of items", "items")
    counts = np.bincount(found.label, minlength=len(found.readings.labels))
    order = np.argsort(-found.prevalence, kind="stable")
    for k in order[:_MOST_ROWS].tolist():
        share = found.prevalence[k]
        table.add_row(Text(found.readings.labels[k]), f"{share:.1%}", str(counts[k]))
    console.print(table)
    _more(console, len(order), "labels")


def _errors(console: Console, found: Consensus) -> None:
    """Print each observer's share of right readings, and the commonest error."""
    labels = found.readings.labels
    table = _table("observer", "readings", "right", "most often says", "for", "of it")
    rows = []
    for o, observer in enumerate(found.readings.observers):
        weight, matrix = found.weights[o], found.matrices[o]
        total = float(weight.sum())
        right = float((weight * np.diag(matrix)).sum()) / max(total, 1e-12)
        wrong = weight[:, None] * (matrix * (1 - np.eye(len(labels))))
        wrong[weight < _LEAST_READINGS] = 0
        true, said = np.unravel_index(int(wrong.argmax()), wrong.shape)
        share = float(matrix[true, said])
        shown = share >= _LEAST_ERROR and wrong[true, said] > 0
        error = (Text(labels[said]), Text(labels[true]), f"{share:.0%}") if shown else ("–",) * 3
        rows.append((right, (Text(observer), f"{total:.0f}", f"{right:.0%}", *error)))
    for _, row in sorted(rows, key=lambda row: row[0])[:_MOST_ROWS]:
        table.add_row(*row)
    console.print(table)
    _more(console, len(rows), "observers")
