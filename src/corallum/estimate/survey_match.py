"""Two surveys side by side: the same names in the same columns, the same transects in rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from corallum.estimate.estimate import Floats
from corallum.estimate.survey_table import SurveyTable

__all__ = ["align", "pair_transects"]

_FEWEST = 2


def align(first: SurveyTable, second: SurveyTable) -> tuple[SurveyTable, SurveyTable]:
    """Return two tables with the names of both as columns; what was not met is 0.

    Parameters
    ----------
    first, second : SurveyTable
        Of one unit.

    Returns
    -------
    tuple of SurveyTable
        A name that counts as coral, or as a genus, in one counts so in both.
    """
    labels = tuple(sorted({*first.labels, *second.labels}))
    one, other = _widened(first, labels), _widened(second, labels)
    coral, genus = one.is_coral | other.is_coral, one.is_genus | other.is_genus
    return (
        replace(one, is_coral=coral, is_genus=genus),
        replace(other, is_coral=coral, is_genus=genus),
    )


def _widened(table: SurveyTable, labels: tuple[str, ...]) -> SurveyTable:
    """Return a table with more columns."""
    at = np.array([labels.index(label) for label in table.labels], np.int64)
    size = len(labels)

    def wide(values: Floats) -> Floats:
        found = np.zeros((len(values), size))
        found[:, at] = values
        return found

    readings = np.zeros((len(table.readings), size, size))
    readings[np.ix_(np.arange(len(readings)), at, at)] = table.readings
    coral, genus = np.zeros((2, size), np.bool_)
    coral[at], genus[at] = table.is_coral, table.is_genus
    return replace(
        table, labels=labels, is_coral=coral, is_genus=genus, met=wide(table.met),
        lines=wide(table.lines), readings=readings,
    )  # fmt: skip


def pair_transects(
    first: tuple[SurveyTable, Sequence[str]], second: tuple[SurveyTable, Sequence[str]]
) -> tuple[SurveyTable, SurveyTable] | None:
    """Return the transects that both surveys read, in one order.

    Parameters
    ----------
    first, second : tuple of SurveyTable and sequence of str
        A survey, and what its transects are called at their sites.

    Returns
    -------
    tuple of SurveyTable, or None
        None where strata differ, or one has fewer than two such transects.
    """
    keys = [
        [(table.sites[s], name) for s, name in zip(table.site.tolist(), names, strict=True)]
        for table, names in (first, second)
    ]
    other = set(keys[1])
    common = [key for key in keys[0] if key in other]
    if first[0].strata != second[0].strata or not common:
        return None
    one = _ordered(first[0], [keys[0].index(key) for key in common])
    two = _ordered(second[0], [keys[1].index(key) for key in common])
    counts = np.bincount(one.stratum)
    if counts[counts > 0].min() < _FEWEST or not np.array_equal(one.stratum, two.stratum):
        return None
    return one, two


def _ordered(table: SurveyTable, order: Sequence[int]) -> SurveyTable:
    """Return some transects of a table, in an order."""
    index: NDArray[np.int64] = np.array(order, np.int64)
    return replace(
        table, transects=tuple(table.transects[i] for i in order), site=table.site[index],
        stratum=table.stratum[index], observer=table.observer[index], met=table.met[index],
        lines=table.lines[index], searched=table.searched[index], readings=table.readings[index],
    )  # fmt: skip
