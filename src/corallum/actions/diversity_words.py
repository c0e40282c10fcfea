"""How richness and diversity are said, on pages and in reports."""

from __future__ import annotations

import math
from dataclasses import dataclass

from corallum.actions.result_plots import KINDS
from corallum.actions.result_words import number
from corallum.actions.survey_diversity import PlaceDiversity, SurveyDiversity
from corallum.actions.survey_estimates import Span
from corallum.estimate.richness import RichnessEstimate
from corallum.estimate.singletons import Richness

__all__ = [
    "RichnessLine",
    "hill_words",
    "met_sentence",
    "place_line",
    "richness_lines",
    "richness_notes",
    "transect_lines",
]


@dataclass(frozen=True, slots=True)
class RichnessLine:
    """A measure of richness or diversity, as said and with singletons looked at again."""

    label: str
    said: str
    rechecked: str


def _measures(one: Richness, kinds: str) -> list[tuple[str, str]]:
    """Say the measures of one sample."""
    observed, endless = one.diversity.observed, one.diversity.asymptotic
    return [
        (f"{kinds[:1].upper()}{kinds[1:]} met", str(one.met)),
        ("Met once", str(one.once)),
        ("Met twice", str(one.twice)),
        ("Share of records that are of those met", f"{100 * one.coverage:.1f} %"),
        ("Chao1, with (n − 1)/n", _chao(one.chao1)),
        ("Chao1, bias-corrected", _chao(one.chao1_bias_corrected)),
        ("ACE", _many(one.ace)),
        ("Shannon's H (natural logarithm)", _many(one.diversity.entropy, 2)),
        ("Hill number of order 1, in the sample", _many(observed.shannon)),
        ("Hill number of order 2, in the sample", _many(observed.simpson)),
        ("Hill number of order 1, of a sample without end", _many(endless.shannon)),
        ("Hill number of order 2, of a sample without end", _many(endless.simpson)),
    ]


def _many(value: float, digits: int = 1) -> str:
    """Say a number of genera; one without end can't be told."""
    return number(value, digits) if math.isfinite(value) else "can't be told"


def _chao(one: RichnessEstimate) -> str:
    """Say an estimate of richness and its interval."""
    if not math.isfinite(one.value):
        return "can't be told"
    low, high = (_many(part, 0) for part in (one.low, one.high))
    upper = f"to {high}" if math.isfinite(one.high) else "or more"
    return f"{one.value:.1f} ({low} {upper})" if math.isfinite(one.low) else f"{one.value:.1f}"


def met_sentence(one: Richness, kinds: str) -> str:
    """Say how many were met, and how many there may be: Chao1 is a lower bound."""
    if one.met == 1:
        kinds = {"genera": "genus", "families": "family"}.get(kinds, "growth form")
    met = f"{one.met} {kinds} of stony coral {'was' if one.met == 1 else 'were'} met"
    if not math.isfinite(one.chao1.value):
        return f"{met}; how many there are can't be told."
    if one.chao1.value < one.met + 0.05:
        return f"{met}. The records give no sign of others; that does not prove there are none."
    return f"{met}; about {_chao(one.chao1)} at the least may be there, by Chao1."


def hill_words(span: Span | None) -> str:
    """Say a Hill number with its interval."""
    if span is None:
        return "no interval: a stratum has one transect"
    ends = (span.low, span.high)
    if not all(map(math.isfinite, ends)):
        return f"{number(span.value, 1)} (no interval)"
    return f"{number(span.value, 1)} ({number(span.low, 1)} to {number(span.high, 1)})"


def place_line(one: PlaceDiversity) -> tuple[str, ...]:
    """Say the diversity of a stratum or a site."""
    observed = one.diversity.observed
    return (
        one.level, one.name, str(one.transects), _many(observed.richness, 0),
        _many(observed.shannon), _many(observed.simpson), f"{100 * one.coverage:.0f} %",
    )  # fmt: skip


def transect_lines(found: SurveyDiversity) -> list[tuple[str, str]]:
    """Say the estimates that rest on presence on transects."""
    one = found.incidence
    if one is None:
        return []
    return [
        ("Chao2", _chao(one.chao2)),
        ("Jackknife, first order", f"{one.jackknife_1:.1f} ± {1.96 * one.jackknife_1_se:.1f}"),
        ("Jackknife, second order", _many(one.jackknife_2)),
        ("Bootstrap", f"{one.bootstrap:.1f} ± {1.96 * one.bootstrap_se:.1f}"),
    ]


def richness_lines(found: SurveyDiversity) -> list[RichnessLine]:
    """Say each measure as said and with what was met once looked at again."""
    kinds = KINDS[found.by]
    said, again = (_measures(one, kinds) for one in (found.richness.said, found.richness.rechecked))
    return [
        RichnessLine(label, before, after)
        for (label, before), (_, after) in zip(said, again, strict=True)
    ]


def richness_notes(found: SurveyDiversity) -> list[str]:
    """Say what is to be known of the estimates of richness."""
    notes = [one.chao1.note for one in (found.richness.said, found.richness.rechecked)]
    return [f"{one[:1].upper()}{one[1:]}." for one in dict.fromkeys(notes) if one]
