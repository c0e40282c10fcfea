"""Invented survey tables of known truth, for tests of what is estimated from them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from corallum.estimate.survey_table import SurveyTable

__all__ = ["GENERA", "LABELS", "invent_table", "permuted"]

# Names said in the table, in the order of its columns: genera, unnamed coral, no coral.
LABELS = ("Acropora", "Favites", "Goniastrea", "Porites", "sand", "stony coral")
GENERA = LABELS[:4]


def invent_table(
    seed: int = 1,
    *,
    transects: Sequence[int] = (6, 4),
    weight: Sequence[float] = (3.0, 1.0),
    records: int = 60,
    read: float = 0.5,
    agree: bool = False,
    searched: float | None = None,
) -> SurveyTable:
    """A table whose second readings are of its own records; each record counts 1.

    Parameters
    ----------
    transects : sequence of int
        Of each stratum; two sites a stratum.
    records : int
        Of each transect.
    read : float
        Share of each said name's records read again, over the whole survey; 2 at least.
    agree : bool
        Whether all second readings say what was said.
    searched : float or None
        Of each transect; None is another for each.
    """
    rng = np.random.default_rng(seed)
    size, n = len(LABELS), sum(transects)
    chance = np.array([0.2, 0.15, 0.15, 0.2, 0.25, 0.05])
    mix = np.eye(size)
    if not agree:
        mix[1, [1, 2]] = 0.7, 0.3
        mix[5] = [0.4, 0.2, 0.1, 0.3, 0.0, 0.0]
    said = np.array([rng.multinomial(records, one) for one in rng.dirichlet(15 * chance, n)])
    pairs = [
        (t, k, int(rng.choice(size, p=mix[k])))
        for t in range(n) for k in range(size) for _ in range(said[t, k])
    ]  # fmt: skip
    readings = np.zeros((n, size, size))
    for k in range(size):
        own = [one for one in pairs if one[1] == k]
        for i in rng.permutation(len(own))[: max(2, round(read * len(own)))]:
            readings[own[i]] += 1
    stratum = np.repeat(np.arange(len(transects)), transects)
    site = 2 * stratum + np.concatenate([np.arange(count) % 2 for count in transects])
    length = np.full(n, searched) if searched else rng.uniform(1.5, 3.0, n) * records
    return SurveyTable(
        LABELS, np.array([one != "sand" for one in LABELS]),
        np.array([one in GENERA for one in LABELS]),
        tuple(f"t{i}" for i in range(n)), tuple(f"s{i}" for i in range(2 * len(transects))),
        tuple(f"h{i}" for i in range(len(transects))), ("o0", "o1"), site, stratum,
        np.arange(n) % 2, np.array(weight, np.float64), said.astype(np.float64),
        said.astype(np.float64), length, readings, is_cover=True,
    )  # fmt: skip


def permuted(table: SurveyTable, rows: Sequence[int], columns: Sequence[int]) -> SurveyTable:
    """The same table with transects and names in another order."""
    r, c = np.array(rows), np.array(columns)
    return SurveyTable(
        tuple(table.labels[k] for k in c), table.is_coral[c], table.is_genus[c],
        tuple(table.transects[t] for t in r), table.sites, table.strata, table.observers,
        table.site[r], table.stratum[r], table.observer[r], table.weight,
        table.met[np.ix_(r, c)], table.lines[np.ix_(r, c)], table.searched[r],
        table.readings[np.ix_(r, c, c)], table.is_cover,
    )  # fmt: skip
