"""How far second readings of a survey agree with the first, beside the trade's limits."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from corallum.actions.record_readings import ReadingState, reading_state
from corallum.observers.coefficient import Coefficient
from corallum.observers.cohen import cohen_kappa, cross_table
from corallum.observers.paired import enumeration_difference, taxonomic_disagreement
from corallum.records.benthos import GENUS, UNREADABLE
from corallum.store.programme import Programme

__all__ = ["ReadingAgreement", "reading_agreement"]

# Percent above which causes are to be looked for: Stribling et al. 2003 as quality plans use it.
PTD_LIMIT, PDE_LIMIT = 15.0, 5.0


@dataclass(frozen=True, slots=True)
class ReadingAgreement:
    """First and second readings of the same records.

    Parameters
    ----------
    n : int
        Records read twice and readable both times.
    unreadable : int
        Records that the second reader could not read.
    right : float
        Share of all records whose name the second reading bears out: each said name weighs by
        its records, for rare names were read again more often.
    ptd : float
        Percent taxonomic disagreement of the records that were read twice.
    pde : float
        Percent difference in enumeration, over the sum: of how many records each named to
        genus.
    kappa : Coefficient
        Cohen's, or why there is none.
    table : tuple of (str, str, int)
        Said, found, and how often; disagreements first, the most frequent first.
    said : tuple of str
        What the limits say, in plain sentences.
    """

    n: int
    unreadable: int
    right: float
    ptd: float
    pde: float
    kappa: Coefficient
    table: tuple[tuple[str, str, int], ...]
    said: tuple[str, ...]


def reading_agreement(programme: Programme, survey: str) -> ReadingAgreement | None:
    """Compare the readings of a survey's records; None before the first."""
    state = reading_state(programme, survey)
    every = state.pairs
    pairs = [(line, one) for line, one in every if one.kind != UNREADABLE]
    if not pairs:
        return None
    labels = sorted({name for line, one in pairs for name in (line.label, one.label)})
    first = np.array([labels.index(line.label) for line, _ in pairs])
    second = np.array([labels.index(one.label) for _, one in pairs])
    counts = Counter((line.label, one.label) for line, one in pairs)
    table = sorted(((a, b, n) for (a, b), n in counts.items()), key=lambda row: -row[2])
    table.sort(key=lambda row: row[0] == row[1])
    genera = [sum(one.kind == GENUS for one in side) for side in zip(*pairs, strict=True)]
    ptd = taxonomic_disagreement(int((first == second).sum()), len(pairs), len(pairs))
    pde = enumeration_difference(genera[0], genera[1])
    kappa = cohen_kappa(cross_table(first, second, len(labels))).coefficient
    return ReadingAgreement(
        len(pairs), len(every) - len(pairs), _right(counts, state), ptd, pde, kappa,
        tuple(table), _sentences(ptd, pde),
    )  # fmt: skip


def _right(counts: Counter[tuple[str, str]], state: ReadingState) -> float:
    """Share right over all records, said names weighted by how many of them there are."""
    sizes: dict[str, int] = {}
    for draw in state.draws:
        for name, (size, _) in draw.strata.items():
            # What a later draw could take is only what the first had left.
            sizes[name] = max(size, sizes.get(name, 0))
    read: Counter[str] = Counter()
    for (said, _), n in counts.items():
        read[said] += n
    weight = {name: sizes.get(name, n) for name, n in read.items()}
    total = sum(weight.values())
    return sum(weight[name] * counts[name, name] / n for name, n in read.items()) / total


def _sentences(ptd: float, pde: float) -> tuple[str, ...]:
    """Say what the limits of the trade make of it."""
    found = []
    if ptd > PTD_LIMIT:
        found.append(
            f"{ptd:.0f} % disagree, more than {PTD_LIMIT:.0f} %: look for the causes below, and "
            "train on them before the next dive."
        )
    if pde > PDE_LIMIT:
        found.append(
            f"The two named {pde:.0f} % differently many records to genus, more than "
            f"{PDE_LIMIT:.0f} %: agree on when to write stony coral."
        )
    return tuple(found) or ("Within the usual limits.",)
