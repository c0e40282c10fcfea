"""Two pages for a region of sixty genera, on colonies that the search never saw.

The bounds are those set for the project: no one of 1,000 random sheets of the same size
does better, and what is called expected accuracy is how often the genus is named right,
to five standard errors. Colonies are drawn by the model that determines them, and once
more by :mod:`corallum.model.truth`, which is other code: a true look first, then a report.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from corallum.model.errors import Observer
from corallum.model.likelihood import Kernel
from corallum.model.page_accuracy import Sheet, Trial, figure, score_rows
from corallum.model.page_budget import PageBudget, PageQuestion, ask_page
from corallum.model.page_comparison import compare_page, random_sheet
from corallum.model.page_search import search_sheet
from corallum.model.prior import genus_prior
from corallum.model.truth import draw_colonies, report_colonies
from support import compiled

pytestmark = pytest.mark.calibration

GENERA, SHEETS = 60, 1000
BUDGET = PageBudget(15, 6, 2)
SEED = 20261126


@cache
def question() -> PageQuestion:
    """The sixty commonest genera of the Red Sea, characters seen in water."""
    order = np.argsort(-genus_prior(compiled(), "red_sea")[:-1], kind="stable")[:GENERA]
    genera = [compiled().genera[g] for g in order]
    return ask_page(compiled(), Observer.UNKNOWN, "red_sea", genera=genera)


@cache
def chosen() -> Sheet:
    """The two pages."""
    rng = np.random.default_rng(SEED)
    return search_sheet(Trial.draw(question(), 2000, rng), BUDGET)


def looked_upon(n: int, rng: np.random.Generator) -> Trial:
    """Colonies drawn as they are, in the region's mix, and then reported with errors."""
    weight = compiled().form_weight * question().mix[compiled().form_genus]
    form = rng.choice(len(weight), n, p=weight / weight.sum())
    true = draw_colonies(compiled(), form, rng)
    looked = np.zeros((n, len(compiled().characters)), dtype=np.bool_)
    looked[:, question().characters] = True
    reports = report_colonies(compiled(), true, Observer.UNKNOWN, looked, rng)
    return Trial(question(), reports, true.genus)


def named_right(trial: Trial, sheet: Sheet) -> np.ndarray:
    """Whether the most probable genus of the sheet is the true one, colony by colony."""
    rows = np.array(sheet.rows)
    named = rows[trial.genus(sheet.columns)[rows].argmax(axis=0)]
    return named == trial.truth


def test_no_random_sheet_does_better() -> None:
    """On new colonies, no random sheet is expected to name more right; nor is the alphabet."""
    rng = np.random.default_rng(SEED + 1)
    beside = compare_page(Trial.draw(question(), 2000, rng), chosen(), rng, sheets=SHEETS)
    assert beside.random[-1] <= beside.chosen
    assert beside.same_genera[-1] <= beside.chosen
    assert beside.alphabetical < beside.chosen


def test_no_random_sheet_names_more_colonies_right() -> None:
    """Counted on colonies drawn as they are and then reported, no random sheet does better."""
    rng = np.random.default_rng(SEED + 2)
    trial = looked_upon(2000, rng)
    size = (len(chosen().rows), len(chosen().columns))
    best = max(named_right(trial, random_sheet(trial, size, rng)).mean() for _ in range(SHEETS))
    assert best <= named_right(trial, chosen()).mean()


@pytest.mark.parametrize("which", ["chosen", "random"])
def test_expected_accuracy_is_how_often_the_genus_is_named_right(which: str) -> None:
    """Right names, counted, are as many as expected, to five standard errors."""
    rng = np.random.default_rng(SEED + 3)
    trial = Trial.draw(question(), 20_000, rng)
    sheet = chosen() if which == "chosen" else random_sheet(trial, (30, 5), rng)
    expected = score_rows(trial.genus(sheet.columns), sheet.rows)
    short = figure(named_right(trial, sheet) - expected)
    assert abs(short.value) < 5 * short.se


def test_expected_accuracy_is_too_high_where_errors_are_denied() -> None:
    """The negative control: read as without error, reports of a new observer promise too much."""
    rng = np.random.default_rng(SEED + 4)
    met = question().mix
    new = PageQuestion(Kernel(compiled(), Observer.NEW), met, question().characters)
    drawn = Trial.draw(new, 20_000, rng)
    sure = PageQuestion(Kernel(compiled(), Observer.EXACT), met, question().characters)
    denied = Trial(sure, drawn.evidence, drawn.genera[drawn.truth])
    expected = score_rows(denied.genus(chosen().columns), chosen().rows)
    short = figure(named_right(denied, chosen()) - expected)
    assert short.value < -5 * short.se
