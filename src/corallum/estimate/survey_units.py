"""Transects or sites as the units that were drawn.

Transects at one site are more alike than transects anywhere. Where sites were drawn to
stand for a stratum, they are the units, and what their transects add up to is one row;
taking transects for units then makes intervals too short.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from corallum.estimate.estimate import Floats
from corallum.estimate.survey_table import SurveyTable

__all__ = ["fewest_sites", "fold_sites", "site_effect"]


def fold_sites(table: SurveyTable) -> SurveyTable:
    """Return a survey whose rows are sites: the sums of their transects.

    Parameters
    ----------
    table : SurveyTable
        Rows are transects.

    Returns
    -------
    SurveyTable
        A row for each site with transects, in the order of the sites; its observer is that
        of its first transect.

    References
    ----------
    Cochran W.G. 1977. Sampling Techniques, 3rd ed., section 9A.1 (clusters of unequal size as
    units of a ratio).
    """
    used, first, row = np.unique(table.site, return_index=True, return_inverse=True)
    rows = np.zeros((len(used), len(table.site)))
    rows[row, np.arange(len(table.site))] = 1
    return replace(
        table, transects=tuple(table.sites[i] for i in used.tolist()), site=table.site[first],
        stratum=table.stratum[first], observer=table.observer[first], met=rows @ table.met,
        lines=rows @ table.lines, searched=rows @ table.searched,
        readings=np.tensordot(rows, table.readings, 1),
    )  # fmt: skip


def fewest_sites(table: SurveyTable) -> int:
    """Return the sites with transects of the stratum that has fewest, strata without any apart."""
    pairs = np.unique(np.stack([table.stratum, table.site]), axis=1)[0]
    return int(np.unique(pairs, return_counts=True)[1].min())


def site_effect(table: SurveyTable, members: NDArray[np.bool_]) -> float:
    """Return how many times as wide an interval is with sites as units as with transects.

    Parameters
    ----------
    table : SurveyTable
        Rows are transects.
    members : ndarray of bool, shape (K,)
        Names that the figure adds up.

    Returns
    -------
    float
        Ratio of standard errors; NaN where a stratum has fewer than two sites, or nothing
        varies.
    """
    if fewest_sites(table) < 2:
        return float("nan")
    by_transect, by_site = (_variance(one, members) for one in (table, fold_sites(table)))
    return float(np.sqrt(by_site / by_transect)) if by_transect > 0 else float("nan")


def _variance(table: SurveyTable, members: NDArray[np.bool_]) -> float:
    """Variance of a stratified ratio (Cochran 1977, sections 6.3 and 6.10)."""
    amount: Floats = table.met[:, members].sum(axis=1)
    used = np.unique(table.stratum)
    total = table.weight[used].sum()
    found = 0.0
    for h in used.tolist():
        y, x = amount[table.stratum == h], table.searched[table.stratum == h]
        n = len(y)
        residual = y - x * (y.sum() / x.sum())
        spread = (residual**2).sum() / ((n - 1) * n) / x.mean() ** 2 if n > 1 else 0.0
        found += (table.weight[h] / total) ** 2 * spread
    return float(found)
