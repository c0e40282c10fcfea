"""Readings: who named which item what, as codes that every method counts with.

Repeats are kept in the order in which they were read. Nothing is mended: two
spellings of one name are two labels.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from corallum.errors import Fault, InputError

__all__ = ["Readings", "label_order", "put_in_order", "table_readings"]

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """R readings of N items by O observers with L labels.

    Attributes
    ----------
    items, observers, labels : tuple of str
        Ids; items and observers in the order of their first reading, labels sorted.
    item, observer, label : ndarray of int, shape (R,)
        Codes of each reading into these.
    """

    items: tuple[str, ...]
    observers: tuple[str, ...]
    labels: tuple[str, ...]
    item: Ints
    observer: Ints
    label: Ints

    def __len__(self) -> int:
        """Return the number of readings, repeats counted."""
        return len(self.item)

    @property
    def first(self) -> Readings:
        """The first reading of each item by each observer, repeats left out."""
        cell = self.item * len(self.observers) + self.observer
        _, kept = np.unique(cell, return_index=True)
        kept.sort()
        return Readings(
            self.items,
            self.observers,
            self.labels,
            self.item[kept],
            self.observer[kept],
            self.label[kept],
        )

    @property
    def table(self) -> Ints:
        """First readings as items x observers, shape (N, O); -1 is not read."""
        first = self.first
        cells = np.full((len(self.items), len(self.observers)), -1, dtype=np.int64)
        cells[first.item, first.observer] = first.label
        return cells

    @property
    def counts(self) -> sparse.csr_array:
        """How many readings give an item a label, sparse, shape (N, L)."""
        shape = (len(self.items), len(self.labels))
        ones = np.ones(len(self))
        return sparse.csr_array((ones, (self.item, self.label)), shape=shape)

    def of_observer(self, observer: int) -> Ints:
        """Label of the first reading of each item by one observer, shape (N,); -1 is not read."""
        first = self.first
        own = first.observer == observer
        cells = np.full(len(self.items), -1, dtype=np.int64)
        cells[first.item[own]] = first.label[own]
        return cells


def table_readings(rows: Iterable[tuple[str, str, str]]) -> Readings:
    """Turn rows of item, observer and label into codes.

    Parameters
    ----------
    rows : iterable of (str, str, str)
        One reading each, in the order in which they were made.

    Returns
    -------
    Readings
        Labels are sorted by number where all are numbers, else by text.

    Examples
    --------
    >>> found = table_readings([("c1", "A", "Favites"), ("c1", "B", "Astrea")])
    >>> found.labels, found.table.tolist()
    (('Astrea', 'Favites'), [[1, 0]])
    """
    items: dict[str, int] = {}
    observers: dict[str, int] = {}
    said: dict[str, int] = {}
    codes = [
        (
            items.setdefault(item, len(items)),
            observers.setdefault(observer, len(observers)),
            said.setdefault(label, len(said)),
        )
        for item, observer, label in rows
    ]
    labels = label_order(said)
    place = {label: code for code, label in enumerate(labels)}
    recode = np.array([place[label] for label in said], dtype=np.int64)
    columns = np.array(codes, dtype=np.int64).reshape(-1, 3)
    return Readings(
        tuple(items), tuple(observers), labels, columns[:, 0], columns[:, 1], recode[columns[:, 2]]
    )


def put_in_order(readings: Readings, order: Sequence[str]) -> Readings:
    """Give the labels an order of their own; it may hold labels that nobody used.

    Raises
    ------
    InputError
        Where a label is not in the order, or is there twice.
    """
    twice = sorted({label for label in order if order.count(label) > 1})
    left = [label for label in readings.labels if label not in order]
    faults = [Fault("order", "", "each label once", repr(label), "Keep one.") for label in twice]
    faults += [
        Fault("order", "", "every label of the readings", f"none {label!r}", "Add it in its place.")
        for label in left
    ]
    if faults:
        raise InputError(faults)
    code = np.array([order.index(label) for label in readings.labels], dtype=np.int64)
    return Readings(
        readings.items,
        readings.observers,
        tuple(order),
        readings.item,
        readings.observer,
        code[readings.label],
    )


def label_order(labels: Iterable[str]) -> tuple[str, ...]:
    """Sort labels by number where all are finite numbers, else by text."""
    names = sorted(set(labels))
    numbers = [_number(name) for name in names]
    if all(math.isfinite(number) for number in numbers):
        return tuple(name for _, name in sorted(zip(numbers, names, strict=True)))
    return tuple(names)


def _number(text: str) -> float:
    """Read a number; anything else is not a number."""
    try:
        return float(text)
    except ValueError:
        return math.nan
