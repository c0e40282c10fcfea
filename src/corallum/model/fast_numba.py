"""The inner loops of :mod:`corallum.model.fast`, compiled; the extra ``fast`` brings numba.

Imported only where it is asked for: compiling takes a few seconds.
"""

from __future__ import annotations

import numba
import numpy as np
from numpy.typing import NDArray

__all__ = ["add_rows", "find_rows", "multiply_rows"]

# Sums may be reordered; nan keeps its meaning.
_REORDER = {"reassoc", "contract", "arcp", "nsz"}
Array = NDArray[np.floating]
Rows = NDArray[np.int32]


@numba.njit(parallel=True, nogil=True)
def find_rows(  # noqa: PLR0913, PLR0917  a compiled loop takes arrays, not records
    codes: NDArray[np.uint8],
    columns: NDArray[np.int64],
    steps: NDArray[np.int64],
    begins: NDArray[np.int64],
    first: NDArray[np.int64],
    slots: Rows,
    index: Rows,
) -> int:
    """Find the row of each colony in every table, and count those not filled yet.

    Parameters
    ----------
    codes : ndarray of uint8, shape (N, columns)
        Reports.
    columns, steps : ndarray, shape (columns,)
        Columns table by table, and the step of each one's codes in the table's keys.
    begins : ndarray, shape (tables + 1,)
        Where the columns of each table begin in ``columns``.
    first : ndarray, shape (tables,)
        Where the keys of each table begin in ``slots``.
    slots : ndarray of int32
        Row of each key, -1 where it is not filled.
    index : ndarray of int32, shape (N, tables)
        Where to write.
    """
    missing = 0
    for i in numba.prange(codes.shape[0]):
        for t in range(first.shape[0]):
            key = first[t]
            for c in range(begins[t], begins[t + 1]):
                key += steps[c] * codes[i, columns[c]]
            row = slots[key]
            index[i, t] = row
            missing += row < 0
    return missing


@numba.njit(parallel=True, fastmath=_REORDER, nogil=True)
def add_rows(table: Array, index: Rows, first: Array, out: Array) -> None:
    """Write ``first`` plus the indexed rows of ``table`` for each colony.

    Parameters
    ----------
    table : ndarray, shape (rows, NF)
        All joint tables, one below the other.
    index : ndarray of int32, shape (N, tables)
        Rows of each colony; a multiple of four, filled up with a row that changes nothing.
    first : ndarray, shape (NF,)
        Log prior of the forms.
    out : ndarray, shape (N, NF)
        Where to write.
    """
    for i in numba.prange(index.shape[0]):
        total = out[i]
        total[:] = first
        for t in range(0, index.shape[1], 4):
            a, b = table[index[i, t]], table[index[i, t + 1]]
            c, d = table[index[i, t + 2]], table[index[i, t + 3]]
            for f in range(total.shape[0]):
                total[f] += (a[f] + b[f]) + (c[f] + d[f])


@numba.njit(parallel=True, fastmath=_REORDER, nogil=True)
def multiply_rows(
    table: Array,
    index: Rows,
    first: Array,
    ranks: NDArray[np.int64],
    columns: NDArray[np.int64],
    out: Array,
) -> None:
    """Write P(genus) for each colony, or nan where the product is too small to hold.

    Parameters
    ----------
    table, index, first : ndarrays
        As in :func:`add_rows`, likelihoods and priors instead of their logs.
    ranks : ndarray, shape (ranks, 2)
        Start and length of the slices that the layout sums by genus.
    columns : ndarray, shape (G + 1,)
        Column of each genus in the layout.
    out : ndarray, shape (N, G + 1)
        Where to write.
    """
    tiny = np.finfo(np.float32).tiny * 1e8
    scratch = np.empty((numba.get_num_threads(), first.shape[0]), first.dtype)
    for i in numba.prange(index.shape[0]):
        total = scratch[numba.get_thread_id()]  # type: ignore[attr-defined]  # not in its list
        total[:] = first
        for t in range(0, index.shape[1], 4):
            a, b = table[index[i, t]], table[index[i, t + 1]]
            c, d = table[index[i, t + 2]], table[index[i, t + 3]]
            for f in range(total.shape[0]):
                total[f] *= (a[f] * b[f]) * (c[f] * d[f])
        for r in range(1, ranks.shape[0]):
            start = ranks[r, 0]
            for g in range(ranks[r, 1]):
                total[g] += total[start + g]
        mass = total[: columns.shape[0]].sum()
        if mass <= tiny:
            out[i, :] = np.nan
            continue
        share = 1 / mass
        for g in range(columns.shape[0]):
            out[i, g] = total[columns[g]] * share
