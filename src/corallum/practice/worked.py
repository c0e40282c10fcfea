"""The worked answer: what decides, what led astray, and what was worth another look."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import batch, read_colony, state_columns
from corallum.model.next_looks import next_looks
from corallum.model.posterior import Posterior, posterior
from corallum.model.prior import genus_prior
from corallum.model.why import explain
from corallum.practice.item import Item, PracticeAnswer
from corallum.practice.marking import Mark, mark_answer
from corallum.records.answer import NextLook, WhyEntry
from corallum.records.colony import Colony, Report, SizeReport, StateReport
from corallum.reference.scheme import NOT_LOOKED_AT

__all__ = ["Astray", "Worked", "work_through"]

_DECIBANS = 10 * np.log10(np.e)
_MOST = 3
_TEN_SECONDS = 10.0
# A judged size further than this from the true one (log) is called wrong: by a quarter.
_FAR = float(np.log(1.25))


@dataclass(frozen=True, slots=True)
class Astray:
    """A look reported otherwise than it was, and what that cost the truth.

    ``decibans`` is how much of the odds of the true genus, against the one named or
    else the nearest, the misjudgement took away; below 0 it helped by luck.
    """

    character: str
    said: str
    true: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Worked:
    """An answer marked and explained.

    Attributes
    ----------
    mark : Mark
        The score.
    nearest : str
        The wrong genus that is hardest to tell from the truth here.
    decides : tuple of WhyEntry
        What speaks most for the truth against ``nearest``, all seen without error.
    astray : tuple of Astray
        Looks that were misjudged, the most costly first.
    more : tuple of NextLook
        Looks of ten seconds or less, not reported, that were worth most.
    said_by_report : tuple of (str or None, float)
        What the model makes of the observer's own report and of what was told; empty where
        nothing was reported.
    best : tuple of (str or None, float)
        The best that can be said.
    """

    mark: Mark
    nearest: str
    decides: tuple[WhyEntry, ...]
    astray: tuple[Astray, ...]
    more: tuple[NextLook, ...]
    said_by_report: tuple[tuple[str | None, float], ...]
    best: tuple[tuple[str | None, float], ...]


def work_through(
    exact: Determiner, observer: Determiner, item: Item, answer: PracticeAnswer
) -> Worked:
    """Mark an answer and explain it.

    Parameters
    ----------
    exact : Determiner
        Without errors: what the item itself says.
    observer : Determiner
        With the observer's errors: what their report says.
    item, answer : Item, PracticeAnswer
        What was shown and said.
    """
    compiled = exact.compiled
    prior = genus_prior(compiled, item.region)
    full = _Case(exact, item, {id_: _report(value) for id_, value in item.shown.items()}, prior)
    truth = compiled.genera.index(item.genus)
    nearest = _nearest(full.found.genus[0], truth, answer, compiled.genera)
    told = {id_: _report(item.shown[id_]) for id_ in item.told}
    said = replace(answer, reports={**told, **answer.reports})
    reported = _Case(observer, item, said.reports, prior)
    why = explain(compiled, full.evidence, full.found, prior, (truth, nearest))
    against = _named_wrong(item, answer, compiled.genera, nearest)
    return Worked(
        mark_answer(compiled, item, answer, prior),
        compiled.genera[nearest],
        tuple(entry for entry in why.decibans if entry.value > 0)[:_MOST],
        _find_astray(observer, item, said, prior, (truth, against)),
        _worth_more(item, said, observer, reported),
        _top(reported.found.genus[0], compiled.genera) if answer.reports else (),
        _top(full.found.genus[0], compiled.genera),
    )


def _report(value: str | float) -> Report:
    """Turn a true look into a report."""
    return StateReport((value,)) if isinstance(value, str) else SizeReport(float(value))


class _Case:
    """An item as one set of reports tells it."""

    def __init__(
        self, determiner: Determiner, item: Item, reports: Mapping[str, Report], prior: Floats
    ) -> None:
        self.colony = Colony("item", reports, item.region, None, item.conditions)
        self.evidence = read_colony(determiner.compiled, self.colony)
        self.side = batch(determiner.compiled, [self.evidence])
        self.found: Posterior = posterior(determiner.kernel, self.side, prior)


def _nearest(genus: Floats, truth: int, answer: PracticeAnswer, genera: tuple[str, ...]) -> int:
    """Return the genus to tell the truth from: the wrong one named, else the next best."""
    wrong = [genera.index(one) for one in answer.genera if genera.index(one) != truth]
    if wrong:
        return max(wrong, key=lambda g: float(genus[g]))
    others = genus[:-1].copy()
    others[truth] = -1.0
    return int(np.argmax(others))


def _named_wrong(item: Item, answer: PracticeAnswer, genera: tuple[str, ...], nearest: int) -> int:
    """Return the genus against which misjudged looks are weighed."""
    wrong = [genera.index(one) for one in answer.genera if one != item.genus]
    return wrong[0] if wrong else nearest


def _find_astray(
    observer: Determiner, item: Item, answer: PracticeAnswer, prior: Floats, pair: tuple[int, int]
) -> tuple[Astray, ...]:
    """Weigh each look that was reported otherwise than it was."""
    compiled = observer.compiled
    as_said = _odds(_Case(observer, item, answer.reports, prior).found, pair)
    found = []
    for id_, report in answer.reports.items():
        character = _character_of(compiled, id_)
        true = item.shown.get(character)
        if true is None or not _differs(compiled, id_, report, true):
            continue
        others = {one: value for one, value in answer.reports.items() if one != id_}
        mended = {**others, character: _report(true)}
        gained = _odds(_Case(observer, item, mended, prior).found, pair) - as_said
        found.append(Astray(id_, _words(report), _value_words(true), gained))
    return tuple(sorted(found, key=lambda one: -one.decibans))


def _odds(found: Posterior, pair: tuple[int, int]) -> float:
    """Log odds of the first genus over the second, decibans."""
    a, b = (max(float(found.genus[0, g]), 1e-300) for g in pair)
    return float(_DECIBANS * np.log(a / b))


def _character_of(compiled: CompiledReference, id_: str) -> str:
    """Return the character that an id is, or is a view of."""
    index = next((view.character for view in compiled.views if view.id == id_), None)
    return id_ if index is None else compiled.characters[index].id


def _differs(compiled: CompiledReference, id_: str, report: Report, true: str | float) -> bool:
    """Whether a report is not what was there; a set that holds the truth is right."""
    if not isinstance(report, StateReport):
        return not isinstance(true, str) and abs(float(np.log(report.value / true))) > _FAR
    if NOT_LOOKED_AT in report.states:
        return False
    if not isinstance(true, str):
        return True
    states = compiled.characters[compiled.character_index[_character_of(compiled, id_)]].states
    columns = state_columns(compiled, id_)
    return states.index(true) not in {c for one in report.states for c in columns.get(one, ())}


def _words(report: Report) -> str:
    """Write what was reported."""
    if isinstance(report, StateReport):
        return " or ".join(state.replace("_", " ") for state in report.states)
    return f"{report.value:g}"


def _value_words(value: str | float) -> str:
    """Write what was there."""
    return value.replace("_", " ") if isinstance(value, str) else f"{value:g}"


def _worth_more(
    item: Item, answer: PracticeAnswer, observer: Determiner, reported: _Case
) -> tuple[NextLook, ...]:
    """Return quick looks that the item shows and nobody reported."""
    looks = next_looks(observer.kernel, reported.evidence, reported.side, reported.found)
    quick = [
        look for look in looks
        if look.seconds <= _TEN_SECONDS and look.character in item.shown
        and look.character not in answer.reports and look.gain_bits > 0.005
    ]  # fmt: skip
    return tuple(quick[:_MOST])


def _top(genus: Floats, genera: tuple[str, ...]) -> tuple[tuple[str | None, float], ...]:
    """Return the genera that matter, most probable first."""
    order = np.argsort(-genus, kind="stable")[:5].tolist()
    return tuple(
        (genera[i] if i < len(genera) else None, float(genus[i]))
        for i in order if genus[i] >= 0.01
    )  # fmt: skip
