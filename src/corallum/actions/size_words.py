"""How sizes of colonies are said, on pages and in reports."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from corallum.actions.result_words import number
from corallum.actions.survey_details import SurveySizes
from corallum.estimate.size_structure import SizeClasses

__all__ = ["ClassLine", "class_lines", "half_sentence", "juvenile_sentence", "mean_sentence"]


@dataclass(frozen=True, slots=True)
class ClassLine:
    """A class of size as the table shows it."""

    label: str
    colonies: int
    value: str
    interval: str


def class_lines(found: SizeClasses) -> list[ClassLine]:
    """Say the classes of size."""
    shown, scale, digits = found.density, 1.0, 2
    if shown is None:
        shown, scale, digits = found.share, 100.0, 0
    edges = found.edges_cm.tolist()
    rows = []
    for k, (low, high) in enumerate(pairwise(edges)):
        label = f"{low:g} to {high:g} cm" if math.isfinite(high) else f"{low:g} cm and more"
        ends = [scale * float(part[k]) for part in (shown.low, shown.high)]
        known = all(map(math.isfinite, ends))
        top = ends[1] if found.density is not None else min(ends[1], 100.0)
        interval = f"{number(max(ends[0], 0), digits)} to {number(top, digits)}"
        rows.append(ClassLine(
            label, round(float(found.counts[:, k].sum())),
            number(scale * float(shown.value[k]), digits), interval if known else "no interval",
        ))  # fmt: skip
    return rows


def _median(low: float, high: float) -> str:
    """Say the interval of a median; an end beyond the sizes seen is none."""
    lower = f"{low:.1f} cm" if math.isfinite(low) and low > 0 else "no lower end"
    upper = f"{high:.1f} cm" if math.isfinite(high) else "no upper end"
    return f"{lower} to {upper}"


def half_sentence(found: SurveySizes) -> str:
    """Say the median size."""
    middle = found.median
    return (
        f"Half of {found.structure.n} colonies are {number(middle.value_cm, 1)} cm across or less "
        f"(95 % interval {_median(middle.low_cm, middle.high_cm)})."
    )


def juvenile_sentence(found: SurveySizes) -> str:
    """Say how many are juveniles by their size."""
    one = found.structure
    share, low, high = (
        float(part)
        for part in (one.juvenile_share.value, one.juvenile_share.low, one.juvenile_share.high)
    )
    told = f"{number(100 * share, 0)} % are juveniles, no larger than {one.juvenile_limit_cm:g} cm"
    told += " across"
    if not math.isnan(low):
        told += f" ({number(100 * max(low, 0), 0)} to {number(100 * min(high, 1), 0)} %)"
    if one.juvenile_density is not None:
        told += f": {number(float(one.juvenile_density.value), 2)} per m²"
    return (
        f"{told}. That is their size, not their age: a small colony may be the rest of an old one."
    )


def mean_sentence(found: SurveySizes) -> str:
    """Say the mean size, and on how many transects there were no colonies."""
    one = found.structure
    told = f"The mean is {number(float(one.mean_cm.value), 1)} cm."
    if one.n_without:
        noun = "transect" if one.n_without == 1 else "transects"
        told += f" {one.n_without} {noun} had none."
    return told
