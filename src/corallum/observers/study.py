"""Does it pay to learn each observer's errors? A study on observers whose errors are known.

Invented observers answer practice items, their errors are learned from the answers, and
fresh colonies that they report are then named three times: with the errors of an unknown
observer, with those learned, and with the true ones. Truth is drawn in two ways, of which
only the first is the prior that the learning assumes. As a control every observer is also
given what was learned of another: nothing may be gained by that.

What it can't show: whether people err as the invented observers do.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Observer, OwnErrors, state_errors
from corallum.model.likelihood import Kernel
from corallum.model.posterior import posterior
from corallum.model.truth import TrueColonies, draw_colonies, report_colonies
from corallum.observers.answered import Answered, beside_truth
from corallum.observers.error_layer import ErrorPosterior, learn_errors
from corallum.observers.eye import default_eye
from corallum.observers.group_errors import GroupErrors, default_group, learn_group

__all__ = ["Held", "Kind", "StudyOutcome", "StudyPlan", "draw_observers", "run_study"]

# Spread between observers of the log of their eye's bias and spread, as the prior has it.
_BIAS_SD, _SPREAD_SD = 0.15, 0.2
# Of the log-normal multiples of error rates, in natural log units: own choice.
_MULTIPLE_SD = 0.5
# Shares of the work that drawing and learning the group take, by the clock.
_DRAWN, _GROUP = 0.05, 0.45


class Kind(StrEnum):
    """Where the true errors of observers come from.

    ``AROUND`` draws each row from the Dirichlet around the unknown observer's that the
    learning assumes. ``MIXED`` mixes trained and new errors by a share of the observer's
    own and multiplies each rate by a log-normal factor: no Dirichlet anywhere.
    """

    AROUND = "around"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class StudyPlan:
    """How large a study is.

    Parameters
    ----------
    observers, answers, fresh : int
        Observers, at least 2; practice answers and fresh colonies of each.
    kind : Kind
        Where their true errors come from.
    practice_looks, survey_looks : float
        Share of the characters that water and lens show that is reported of a colony,
        when practising and of fresh colonies (above 0, to 1).

    Raises
    ------
    InputError
        With every fault.
    """

    observers: int = 100
    answers: int = 200
    fresh: int = 2000
    kind: Kind = Kind.AROUND
    practice_looks: float = 0.35
    survey_looks: float = 0.25

    def __post_init__(self) -> None:
        least = {"observers": 2, "answers": 1, "fresh": 1}
        faults = [
            Fault("study", name, f"{n} or more", str(getattr(self, name)), "Ask for more.")
            for name, n in least.items()
            if getattr(self, name) < n
        ]
        faults += [
            Fault("study", name, "above 0, to 1", f"{getattr(self, name):g}", "Mend it.")
            for name in ("practice_looks", "survey_looks")
            if not 0 < getattr(self, name) <= 1
        ]
        if faults:
            raise InputError(faults)


@dataclass(frozen=True, slots=True)
class Held:
    """How many 90 % intervals hold the truth, of how many."""

    held: int
    of: int

    @property
    def share(self) -> float:
        """Share that holds it; nan of none."""
        return self.held / self.of if self.of else float("nan")


@dataclass(frozen=True, slots=True, eq=False)
class StudyOutcome:
    """What a study found.

    Attributes
    ----------
    plan : StudyPlan
        What was asked.
    states, right : Held
        Intervals of P(said | true), all of them and those of saying what is so.
    bias, spread : Held
        Intervals of the eye's bias and spread, one an observer.
    log_loss : ndarray, shape (K, 4)
        Mean of -log P(true genus) over each observer's fresh colonies, natural log units:
        with the errors of an unknown observer, with the own learned ones, with the true
        ones, and with those learned of the next observer.
    strength : float
        Reports that a row of the group was found to be worth.
    """

    plan: StudyPlan
    states: Held
    right: Held
    bias: Held
    spread: Held
    log_loss: Floats
    strength: float

    @property
    def own_gain(self) -> Floats:
        """Log loss saved by the own learned errors, shape (K,); below 0 is lost."""
        saved: Floats = self.log_loss[:, 0] - self.log_loss[:, 1]
        return saved

    @property
    def most_gain(self) -> Floats:
        """Log loss that the true errors would save, shape (K,)."""
        saved: Floats = self.log_loss[:, 0] - self.log_loss[:, 2]
        return saved

    @property
    def swapped_gain(self) -> Floats:
        """Log loss that another's errors save, shape (K,): the control."""
        saved: Floats = self.log_loss[:, 0] - self.log_loss[:, 3]
        return saved

    @property
    def swapped_loss(self) -> Floats:
        """Log loss of another's errors beyond that of the own, shape (K,)."""
        lost: Floats = self.log_loss[:, 3] - self.log_loss[:, 1]
        return lost

    def share_losing(self, more_than: float = 0.01) -> float:
        """Return the share of observers whose own errors cost more than so much."""
        return float((self.own_gain < -more_than).mean())


def draw_observers(
    compiled: CompiledReference, group: GroupErrors, plan: StudyPlan, rng: np.random.Generator
) -> list[OwnErrors]:
    """Invent observers.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    group : GroupErrors
        Around which ``Kind.AROUND`` draws, and how closely.
    plan : StudyPlan
        How many, and of which kind.
    rng : numpy.random.Generator
        Draws their errors.
    """
    eye = default_eye(compiled)
    middle = float(np.sqrt(eye.scale / (eye.shape - 1)))
    found = []
    for _ in range(plan.observers):
        share = rng.random()
        states = {}
        for c, rows in group.states.items():
            character = compiled.characters[c]
            size = len(rows)
            matrix = np.eye(size + 1)
            if plan.kind is Kind.AROUND:
                drawn = rng.standard_gamma(group.strength * rows) + 1e-12
            else:
                trained = state_errors(character, Observer.TRAINED)[:size, :size]
                new = state_errors(character, Observer.NEW)[:size, :size]
                drawn = share * trained + (1 - share) * new
                factor = np.exp(rng.normal(0.0, _MULTIPLE_SD, drawn.shape))
                drawn = drawn * np.where(np.eye(size, dtype=np.bool_), 1.0, factor)
            matrix[:size, :size] = drawn / drawn.sum(axis=1, keepdims=True)
            states[character.id] = matrix
        spread = middle * float(np.exp(rng.normal(0.0, _SPREAD_SD)))
        found.append(OwnErrors(states, float(rng.normal(eye.bias, _BIAS_SD)), spread))
    return found


def run_study(
    kernel: Kernel,
    prior: Floats,
    plan: StudyPlan,
    rng: np.random.Generator,
    progress: Callable[[float], None] = lambda _: None,
) -> StudyOutcome:
    """Invent observers, learn their errors, and see what that is worth.

    Parameters
    ----------
    kernel : Kernel
        Of an unknown observer.
    prior : ndarray, shape (G + 1,)
        P(genus) of the region; colonies are drawn from it, "something else" left out.
    plan : StudyPlan
        How large.
    rng : numpy.random.Generator
        Draws everything.
    progress : callable
        Is told the share done, 0 to 1.
    """
    compiled = kernel.compiled
    default = default_group(compiled)
    true = draw_observers(compiled, default, plan, rng)
    answers = []
    for i, one in enumerate(true):
        answers.append(_practise(kernel, prior, plan, one, rng))
        progress(_DRAWN * (i + 1) / plan.observers)
    groups = learn_group(kernel, default, answers, rng)
    progress(_DRAWN + _GROUP)
    learned = [
        learn_errors(kernel, group, one) for group, one in zip(groups, answers, strict=False)
    ]
    loss = np.zeros((plan.observers, 4))
    for i, one in enumerate(true):
        other = learned[(i + 1) % plan.observers].own_errors(compiled)
        tried = (learned[i].own_errors(compiled), one, other)
        loss[i] = _compare(kernel, prior, plan, tried, rng)
        progress(_DRAWN + _GROUP + (1 - _DRAWN - _GROUP) * (i + 1) / plan.observers)
    states, right = _states_held(compiled, true, learned)
    bias, spread = _eye_held(true, learned)
    return StudyOutcome(plan, states, right, bias, spread, loss, groups[-1].strength)


def _draw(
    compiled: CompiledReference, prior: Floats, n: int, rng: np.random.Generator
) -> TrueColonies:
    """Draw colonies as a region has them."""
    genus = rng.choice(len(prior) - 1, n, p=prior[:-1] / prior[:-1].sum())
    starts = [*compiled.genus_starts.tolist(), compiled.n_forms]
    form = np.zeros(n, dtype=np.int64)
    for g in np.unique(genus).tolist():
        forms = np.arange(starts[g], starts[g + 1])
        weight = compiled.form_weight[forms]
        mine = genus == g
        form[mine] = rng.choice(forms, int(mine.sum()), p=weight / weight.sum())
    return draw_colonies(compiled, form, rng)


def _looks(
    compiled: CompiledReference, n: int, share: float, rng: np.random.Generator
) -> NDArray[np.bool_]:
    """Choose what is reported of each colony, blind to what it is, (N, C)."""
    seen = np.array([one.seen in ("w", "l") for one in compiled.characters])
    looks: NDArray[np.bool_] = (rng.random((n, len(seen))) < share) & seen
    return looks


def _practise(
    kernel: Kernel, prior: Floats, plan: StudyPlan, errors: OwnErrors, rng: np.random.Generator
) -> Answered:
    """Let one observer answer practice items."""
    compiled = kernel.compiled
    colonies = _draw(compiled, prior, plan.answers, rng)
    looks = _looks(compiled, plan.answers, plan.practice_looks, rng)
    return beside_truth(compiled, colonies, report_colonies(compiled, colonies, errors, looks, rng))


def _compare(
    kernel: Kernel,
    prior: Floats,
    plan: StudyPlan,
    tried: tuple[OwnErrors, OwnErrors, OwnErrors],
    rng: np.random.Generator,
) -> list[float]:
    """Log loss on fresh colonies of the second observer: unknown errors, then each tried."""
    compiled = kernel.compiled
    colonies = _draw(compiled, prior, plan.fresh, rng)
    looks = _looks(compiled, plan.fresh, plan.survey_looks, rng)
    evidence = report_colonies(compiled, colonies, tried[1], looks, rng)
    rows = np.arange(plan.fresh)
    found = []
    for one in (kernel, *(Kernel(compiled, errors) for errors in tried)):
        said = posterior(one, evidence, prior).genus[rows, colonies.genus]
        found.append(float(-np.log(np.maximum(said, 1e-300)).mean()))
    return found


def _states_held(
    compiled: CompiledReference, true: Sequence[OwnErrors], learned: Sequence[ErrorPosterior]
) -> tuple[Held, Held]:
    """Count the intervals of rates that hold the truth: all, and of saying what is so."""
    held = np.zeros((2, 2), dtype=np.int64)
    for one, known in zip(true, learned, strict=True):
        for c, rows in known.counts.items():
            rates = one.states[compiled.characters[c].id]
            for t, s in np.ndindex(rows.shape):
                _, low, high = known.rate(c, t, s)
                held[int(t == s)] += (low <= rates[t, s] <= high, 1)
    every = held.sum(axis=0).tolist()
    return Held(every[0], every[1]), Held(*held[1].tolist())


def _eye_held(true: Sequence[OwnErrors], learned: Sequence[ErrorPosterior]) -> tuple[Held, Held]:
    """Count the intervals of the eye's bias and spread that hold the truth."""
    found = []
    for name, ends in (("eye_bias", "bias_interval"), ("eye_sd", "sd_interval")):
        held = 0
        for one, known in zip(true, learned, strict=True):
            low, high = getattr(known.eye, ends)()
            held += bool(low <= getattr(one, name) <= high)
        found.append(Held(held, len(true)))
    return found[0], found[1]
