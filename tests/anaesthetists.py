"""The 45 patients of Dawid and Skene 1979, table 1, and small tables of readings in a few words."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from scipy import sparse

from corallum.observers.readings import Readings, table_readings

# Dawid A.P. and Skene A.M. 1979, Applied Statistics 28:20-28, table 1: grades given to 45
# patients by five anaesthetists, the first reading each three times. Two transcriptions were
# compared cell by cell; they differ at patient 7, whose 1, 2, 2 gives the printed .89 and .11.
PATIENTS = """
1:111/1111 2:333/4334 3:112/2122 4:222/3121 5:222/3222 6:222/3322 7:122/2111 8:333/3433
9:222/2223 10:232/2223 11:444/4444 12:222/3343 13:111/1111 14:222/3212 15:121/1111 16:111/2111
17:111/1111 18:111/1111 19:222/2221 20:222/1322 21:222/2222 22:222/2221 23:222/3222 24:221/2222
25:111/1111 26:111/1111 27:232/2222 28:111/1111 29:111/1111 30:112/1121 31:111/1111 32:333/3233
33:111/1111 34:222/2222 35:222/3232 36:433/4343 37:221/2232 38:232/3233 39:333/3432 40:111/1111
41:111/1111 42:121/2111 43:232/2222 44:121/1111 45:222/2222
"""


def patient_rows() -> list[tuple[str, str, str]]:
    """Patient, anaesthetist and grade of each of the 315 readings."""
    rows = []
    for word in PATIENTS.split():
        patient, grades = word.split(":")
        thrice, once = grades.split("/")
        rows += [(patient, "1", grade) for grade in thrice]
        rows += [(patient, str(o), grade) for o, grade in enumerate(once, start=2)]
    return rows


def patients() -> Readings:
    """The readings as a table."""
    return table_readings(patient_rows())


def as_csv(rows: Iterable[tuple[str, str, str]]) -> str:
    """Readings as CSV text."""
    return "item,observer,label\n" + "".join(f"{','.join(row)}\n" for row in rows)


def by_observer(*lines: str) -> Readings:
    """Readings from one line per observer, items in columns, a point where not read."""
    return table_readings(
        (f"i{i}", f"o{o}", label)
        for o, line in enumerate(lines)
        for i, label in enumerate(line.split())
        if label != "."
    )


def counted(*rows: str) -> sparse.csr_array:
    """Counts of labels from one text per item."""
    cells = [[float(n) for n in (row.split() if " " in row else row)] for row in rows]
    return sparse.csr_array(np.array(cells))
