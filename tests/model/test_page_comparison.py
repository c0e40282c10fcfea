"""Sheets that nobody chose: random ones, and the alphabet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from corallum.model.page_accuracy import Sheet
from corallum.model.page_comparison import (
    PageComparison,
    alphabetical_sheet,
    compare_page,
    random_sheet,
)
from small_page import GENERA, trial
from support import compiled


def test_random_and_alphabetical_sheets_have_the_size_asked() -> None:
    """Neither repeats anything, and the alphabet begins where it should."""
    drawn = random_sheet(trial(), (5, 3), np.random.default_rng(1))
    assert (len(set(drawn.rows)), len(set(drawn.columns))) == (5, 3)
    first = alphabetical_sheet(trial(), (3, 2))
    assert [compiled().genera[trial().genera[row]] for row in first.rows] == list(GENERA[:3])
    assert {compiled().characters[c].id for c in first.columns} == {
        "axial_corallite",
        "corallite_arrangement",
    }


def test_the_share_beaten_is_counted() -> None:
    """Of four random sheets, three are no better than .5."""
    random = np.array([0.1, 0.4, 0.5, 0.6])
    assert PageComparison(0.5, random, random, 0.2).beaten == 0.75


def test_sheets_are_compared_on_the_same_colonies() -> None:
    """Each figure is the score of a sheet of the size of the chosen one."""
    columns = trial().question.characters
    sheet = Sheet((2, 6, 11), (columns[1], columns[5]))
    found = compare_page(trial(), sheet, np.random.default_rng(2), sheets=20)
    assert found.chosen == trial().score(sheet)
    assert found.alphabetical == trial().score(alphabetical_sheet(trial(), (3, 2)))
    rng = np.random.default_rng(2)
    others = [random_sheet(trial(), (3, 2), rng) for _ in range(20)]
    assert sorted(map(trial().score, others)) == found.random.tolist()
    same = [replace(sheet, columns=other.columns) for other in others]
    assert sorted(map(trial().score, same)) == found.same_genera.tolist()
