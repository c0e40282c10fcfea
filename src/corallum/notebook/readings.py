"""How far observers agree, and what they say together."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from corallum.actions import agreement as actions
from corallum.draw.plots import Bar, plot_bars
from corallum.errors import Fault
from corallum.exchange.readings import read_readings
from corallum.notebook.asked import Asked
from corallum.notebook.frames import Frame, as_csv, records_of
from corallum.notebook.listing import Field, Listing, Shown, chance, listing, number
from corallum.notebook.plot import Plot
from corallum.observers.agreement import Agreement as AgreementRecord
from corallum.observers.coefficient import Coefficient
from corallum.observers.consensus import Consensus as ConsensusRecord
from corallum.observers.krippendorff import Level
from corallum.observers.readings import Readings

__all__ = ["Agreement", "Consensus", "agreement", "consensus"]

_WHERE = "readings"
_MOST_MB = 64
_MOST_BARS = 15
_WEIGHTS = ("none", "linear", "quadratic")
_KEEP = ("votes", "best")
_MOST_SEED = 2**63

_COEFFICIENT = (
    Field("coefficient", {"coefficient": lambda c: c[0]}, lambda c: c[0]),
    Field("value", {"value": lambda c: c[1].value}, lambda c: number(c[1].value), is_number=True),
    Field("95% interval", {"low": lambda c: c[1].low, "high": lambda c: c[1].high},
          lambda c: _interval(c[1]), is_number=True),
    Field("mind", {"mind": lambda c: c[1].reason or c[1].note},
          lambda c: c[1].reason or c[1].note or ""),
)  # fmt: skip
_PAIR = (
    Field("observers", {"first": lambda p: p.first, "second": lambda p: p.second},
          lambda p: f"{p.first} / {p.second}"),
    Field("both read", {"both_read": lambda p: p.difference.n_both},
          lambda p: str(p.difference.n_both), is_number=True),
    Field("same name", {"agreements": lambda p: p.difference.agreements},
          lambda p: str(p.difference.agreements), is_number=True),
    Field("PTD %", {"taxonomic_disagreement_percent": lambda p: p.difference.disagreement_percent},
          lambda p: number(p.difference.disagreement_percent, 1), is_number=True),
    Field("PDE %",
          {"enumeration_of_sum_percent": lambda p: p.difference.enumeration_of_sum_percent},
          lambda p: number(p.difference.enumeration_of_sum_percent, 1), is_number=True),
    Field("kappa", {"cohen_kappa": lambda p: p.kappa.value}, lambda p: number(p.kappa.value),
          is_number=True),
)  # fmt: skip
_LABEL = (
    Field("label", {"label": lambda row: row[0]}, lambda row: row[0]),
    Field("kappa against the rest", {"kappa": lambda row: row[1]}, lambda row: number(row[1]),
          is_number=True),
)  # fmt: skip


def _count(n: int, noun: str) -> str:
    """Say a number of things."""
    return f"{n} {noun}{'' if n == 1 else 's'}"


def _interval(one: Coefficient) -> str:
    """Write an interval."""
    return "–" if one.low is None else f"{number(one.low)} to {number(one.high)}"


def _read(given: Frame) -> Readings:
    """Read readings from a data frame, from rows, or from a file."""
    if isinstance(given, str | Path):
        return actions.open_readings(str(given), io.BytesIO(), _MOST_MB)
    return read_readings(as_csv(records_of(given, _WHERE), _WHERE), _WHERE)


def agreement(
    readings: Frame,
    level: str = "nominal",
    weights: str = "none",
    order: Sequence[str] | None = None,
    *,
    draws: int = 1000,
    seed: int = 1,
) -> Agreement:
    """Tell how far observers agree.

    Parameters
    ----------
    readings : data frame, rows, or path
        With the columns item, observer and label; a blank label was not read.
    level : str
        What a difference between labels means, for alpha: nominal, ordinal, interval or ratio.
    weights : str
        Weighted kappa of two observers: none, linear or quadratic.
    order : sequence of str or None
        Labels in their order; None sorts them.
    draws : int
        Samples of items for the interval of alpha.
    seed : int
        Of what is drawn.

    Returns
    -------
    Agreement
        Kappas, alpha and AC1 with their intervals, or why there is none.

    Raises
    ------
    InputError
        With every fault of the table, or of what was asked.
    """
    asked = Asked("agreement")
    asked.one_of("level", level, tuple(one.value for one in Level))
    asked.one_of("weights", weights, _WEIGHTS)
    asked.whole("draws", draws, 0, 100_000)
    asked.whole("seed", seed, 0, _MOST_SEED)
    asked.done()
    joined = None if order is None else ",".join(order)
    question = actions.AgreementQuestion(level, weights, joined, draws)
    found = actions.agreement_of(_read(readings), question, np.random.default_rng(seed))
    return Agreement(found)


def consensus(  # noqa: PLR0913  all but the first have defaults
    readings: Frame,
    *,
    hierarchical: bool = False,
    strength: float | None = None,
    sample: int = 0,
    starts: int = 5,
    keep: str = "votes",
    rounds: int = 2000,
    below: float = 0.95,
    seed: int = 1,
) -> Consensus:
    """Find what several observers say together, and what each errs on.

    Parameters
    ----------
    readings : data frame, rows, or path
        With the columns item, observer and label; a blank label was not read.
    hierarchical : bool
        Whether each observer's errors are drawn to the group's.
    strength : float or None
        How strongly, in readings; None estimates it.
    sample : int
        Sweeps to sample, such as 1500; 0 does not sample.
    starts : int
        Random starts beside that from the votes.
    keep : str
        Which end to keep: that of the votes, or the best.
    rounds : int
        Rounds after which to give up.
    below : float
        Items less probable than this are to be looked at again, 0 to 1.
    seed : int
        Of what is drawn.

    Returns
    -------
    Consensus
        A label and its probability for each item; ``converged`` says whether to trust it.

    Raises
    ------
    InputError
        With every fault of the table, or of what was asked.
    """
    asked = Asked("consensus")
    asked.number("strength", strength, 1e-3, 1e6)
    asked.whole("sample", sample, 0, 1_000_000)
    asked.whole("starts", starts, 0, 1000)
    asked.one_of("keep", keep, _KEEP)
    asked.whole("rounds", rounds, 1, 1_000_000)
    asked.number("below", below, 0.0, 1.0)
    asked.whole("seed", seed, 0, _MOST_SEED)
    if (strength is not None or sample) and not hierarchical:
        expected = "True, for strength and sample"
        asked.faults.append(Fault("consensus", "hierarchical", expected, "False", "Set it."))
    asked.done()
    question = actions.ConsensusQuestion(hierarchical, strength, starts, keep, rounds, sample)
    found = actions.consensus_of(_read(readings), question, np.random.default_rng(seed))
    return Consensus(found, below)


class Agreement(Shown):
    """How far observers agree.

    Parameters
    ----------
    record : Agreement
        As ``corallum.observers.agreement`` defines it.
    """

    def __init__(self, record: AgreementRecord) -> None:
        self.record = record

    @property
    def lead(self) -> str:
        """How much was read."""
        one = self.record
        return (
            f"{_count(one.n_items, 'item')}, {_count(one.n_observers, 'observer')}, "
            f"{_count(len(one.labels), 'label')}, {_count(one.n_readings, 'first reading')}."
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """The highest kappa that could be."""
        most = self.record.most_kappa
        if most is None:
            return ()
        return (f"Cohen's kappa could be {most:.3f} at most, with labels used as often as they "
                "were.",)  # fmt: skip

    def _coefficients(self) -> list[tuple[str, Coefficient]]:
        one = self.record
        found = [
            ("Cohen's kappa", one.cohen), ("Fleiss' kappa", one.fleiss),
            ("Krippendorff's alpha", one.alpha), ("Gwet's AC1", one.ac1),
        ]  # fmt: skip
        return found if one.weighted is None else [*found, ("weighted kappa", one.weighted)]

    def listings(self) -> Sequence[Listing]:
        """Return the coefficients."""
        found = self._coefficients()
        *fields, mind = _COEFFICIENT
        if not any(one.reason or one.note for _, one in found):
            mind = replace(mind, head="")
        return [listing("Agreement", (*fields, mind), found)]

    def pairs(self) -> Listing:
        """List every two observers, those who disagree most first.

        Returns
        -------
        Listing
            PTD is names that differ, over the longer list; PDE the difference of the numbers,
            over their sum.
        """
        return listing("Pairs of observers", _PAIR, self.record.pairs)

    def labels(self) -> Listing:
        """List the labels, those that observers agree on least first.

        Returns
        -------
        Listing
            Fleiss' kappa of each against all others.
        """
        known = [row for row in self.record.by_label if not math.isnan(row[1])]
        return listing("Labels", _LABEL, sorted(known, key=lambda row: row[1]))

    def plot(self) -> Plot:
        """Draw the coefficients with their intervals.

        Returns
        -------
        Plot
            A bar each; 1 is agreement in everything, 0 what chance gives.
        """
        nan = float("nan")
        bars = [
            Bar(name, one.value, number(one.value), nan if one.low is None else one.low,
                nan if one.high is None else one.high)
            for name, one in self._coefficients() if one.value is not None
        ]  # fmt: skip
        what = "Agreement, with 95 % intervals"
        return Plot(lambda width: plot_bars(bars, width, what=what, full=1.0))


class Consensus(Shown):
    """What observers say together of each item, and what each of them errs on.

    Parameters
    ----------
    record : Consensus
        As ``corallum.observers.consensus`` defines it.
    below : float
        Items less probable are to be looked at again.
    """

    def __init__(self, record: ConsensusRecord, below: float) -> None:
        self.record, self.below = record, below

    @property
    def converged(self) -> bool:
        """Whether the rounds sufficed; if not, use nothing of it."""
        return self.record.fit.converged

    @property
    def lead(self) -> str:
        """Whether it may be used, and how many items reach what is asked for."""
        one = self.record
        n = len(one.readings.items)
        sure = n - len(one.queue(self.below))
        state = "Converged" if self.converged else "NOT converged: give it more rounds"
        rounds = len(one.fit.bounds)
        return f"{state} after {rounds} rounds; {sure} of {n} items reach {self.below:.0%}."

    @property
    def notes(self) -> tuple[str, ...]:
        """Whether other starts end elsewhere, and what to mind about the probabilities."""
        starts = self.record.starts
        end = f"{starts.same} of {starts.tried} starts end in this place."
        note = self.record.note
        return (end,) if note is None else (end, f"Mind: {note}.")

    def _rows(self) -> list[tuple[str, str, float]]:
        """Return item, label and probability of each item."""
        one = self.record
        labels = [one.readings.labels[int(k)] for k in one.label]
        return list(zip(one.readings.items, labels, one.probability.tolist(), strict=True))

    def _listed(self, caption: str, rows: Sequence[tuple[str, str, float]]) -> Listing:
        fields = (
            Field("item", {"item": lambda r: r[0]}, lambda r: r[0]),
            Field("label", {"label": lambda r: r[1]}, lambda r: r[1]),
            Field("probability", {"probability": lambda r: r[2]}, lambda r: chance(r[2]),
                  is_number=True),
            Field("look again", {"adjudicate": lambda r: r[2] < self.below},
                  lambda r: "yes" if r[2] < self.below else "no"),
        )  # fmt: skip
        return listing(caption, fields, rows)

    def listings(self) -> Sequence[Listing]:
        """Return the items in the order of the table."""
        return [self._listed("Items", self._rows())]

    def queue(self) -> Listing:
        """List the items to look at again, the least probable first.

        Returns
        -------
        Listing
            By somebody who has not read them.
        """
        rows = self._rows()
        return self._listed("Look again at", [rows[i] for i in self.record.queue(self.below)])

    def errors(self) -> Listing:
        """List how often each observer says which label for which.

        Returns
        -------
        Listing
            Every observer, true label and said label; the commonest error first, then what is
            said right.
        """
        one = self.record
        labels = one.readings.labels
        rows = [
            (observer, labels[true], labels[said], float(one.matrices[o, true, said]),
             float(one.weights[o, true]))
            for o, observer in enumerate(one.readings.observers)
            for true in range(len(labels)) for said in range(len(labels))
        ]  # fmt: skip
        rows.sort(key=lambda r: (r[1] == r[2], -r[3] * r[4]))
        fields = (
            Field("observer", {"observer": lambda r: r[0]}, lambda r: r[0]),
            Field("true", {"true": lambda r: r[1]}, lambda r: r[1]),
            Field("said", {"said": lambda r: r[2]}, lambda r: r[2]),
            Field("how often", {"probability": lambda r: r[3]}, lambda r: chance(r[3]),
                  is_number=True),
            Field("of readings", {"readings": lambda r: r[4]}, lambda r: number(r[4], 1),
                  is_number=True),
        )  # fmt: skip
        return listing("What each observer says for what", fields, rows).head(_MOST_BARS)

    def plot(self) -> Plot:
        """Draw the share of each label.

        Returns
        -------
        Plot
            A bar each, the commonest first, in percent of the items.
        """
        one = self.record
        order = np.argsort(-one.prevalence, kind="stable")[:_MOST_BARS].tolist()
        bars = [
            Bar(one.readings.labels[k], 100 * float(one.prevalence[k]),
                chance(float(one.prevalence[k])))
            for k in order
        ]  # fmt: skip
        return Plot(lambda width: plot_bars(bars, width, what="Share of the items, %", full=100.0))
