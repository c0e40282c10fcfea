"""Characters of unequal width on the pages of a field sheet."""

from __future__ import annotations

import itertools

import pytest

from corallum.errors import InputError
from corallum.model.page_budget import PageBudget, placed
from corallum.model.page_search import search_sheet
from small_page import CHARACTERS, ask, trial

# Invented widths, unlike each other.
WIDTHS = {id_: 1 + i % 4 for i, id_ in enumerate(CHARACTERS)}


def test_characters_share_pages_without_being_split() -> None:
    """Widths 5, 4, 3 and 2 go on two pages of 7, and not on two of 6 though 12 would hold 12."""
    widths = {"a": 5, "b": 4, "c": 3, "d": 2}
    roomy, tight = PageBudget(1, 7, 2, widths=widths), PageBudget(1, 6, 2, widths=widths)

    assert roomy.pages_of("abcd") == (("a", "d"), ("b", "c"))
    assert tight.holds((1, 12), 1, "ad") is True
    assert tight.holds((1, 12), 1, "abcd") is False
    assert roomy.holds((1, 14), 1, "abcd") is True


def test_a_character_wider_than_a_page_has_no_place() -> None:
    """What is wider than a page fits on no number of pages, and is refused where it must be."""
    budget = PageBudget(3, 4, 5, characters=(CHARACTERS[0],), widths={CHARACTERS[0]: 5})

    assert budget.pages_of(CHARACTERS[:1]) is None
    with pytest.raises(InputError, match=r"found 0 x 5 that must have a place"):
        placed(ask(), budget)


def test_a_width_is_a_whole_number() -> None:
    """A width of nothing is refused with its character."""
    with pytest.raises(InputError, match=r"width of tissue: expected a whole number from 1"):
        PageBudget(3, 4, widths={"tissue": 0})


@pytest.mark.parametrize("columns", [3, 6])
def test_a_sheet_of_unequal_widths_fits_and_is_nearly_the_best(columns: int) -> None:
    """What is found fits, and reaches 98 % of the best of all choices of characters that fit."""
    budget = PageBudget(4, columns, widths=WIDTHS)
    found = search_sheet(trial(), budget)
    ids = [trial().compiled.characters[c].id for c in found.columns]

    best = 0.0
    named = {trial().compiled.characters[c].id: c for c in trial().question.characters}
    for n in range(len(CHARACTERS) + 1):
        for some in itertools.combinations(named, n):
            if sum(WIDTHS[id_] for id_ in some) <= columns:
                kept = tuple(sorted(named[id_] for id_ in some))
                genus = trial().genus(kept)
                for rows in itertools.combinations(range(len(trial().genera)), 4):
                    best = max(best, float(genus[list(rows)].max(axis=0).mean()))
    assert budget.width(ids) <= columns
    assert trial().score(found) >= 0.98 * best


def test_equal_widths_are_the_same_as_none() -> None:
    """With every width 1 the sheet is as good as one chosen by the number of characters."""
    ones = dict.fromkeys(CHARACTERS, 1)
    plain = trial().score(search_sheet(trial(), PageBudget(4, 3)))

    assert trial().score(search_sheet(trial(), PageBudget(4, 3, widths=ones))) >= plain - 1e-9
