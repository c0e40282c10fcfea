"""What a chosen field sheet is worth: beside the best of small ones, and beside random ones.

Run with ``python bench/sheet.py``; ``--colonies 1000`` for a look. Figures are about the
reference as written: colonies and reports are drawn from the model.
"""

from __future__ import annotations

import argparse
import itertools
import time
from dataclasses import replace
from datetime import datetime

import numpy as np

from corallum.actions.field_sheets import MakeFieldSheet, make_field_sheet
from corallum.actions.references import Library
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.page_accuracy import Sheet, Trial
from corallum.model.page_budget import PageBudget, PageQuestion, ask_page
from corallum.model.page_choice import choose_page
from corallum.model.page_comparison import compare_page
from corallum.model.page_search import page_curve, search_sheet
from corallum.model.prior import genus_prior

__all__ = ["bench_sheet"]

SEED = 20261126
REGION, GENERA = "red_sea", 60
PAGE = (15, 6)
SMALL_GENERA, SMALL_CHARACTERS, SMALL_REGIONS = 12, 8, 12


def commonest(compiled: CompiledReference, region: str, n: int) -> tuple[str, ...]:
    """Return the commonest genera of a region."""
    order = np.argsort(-genus_prior(compiled, region)[:-1], kind="stable")[:n]
    return tuple(compiled.genera[g] for g in order)


def best_of_all(trial: Trial, rows: int, columns: int) -> float:
    """Return the expected accuracy of the best of all sheets of one size."""
    sheets = [list(rows) for rows in itertools.combinations(range(len(trial.genera)), rows)]
    best = 0.0
    for some in itertools.combinations(trial.question.characters, columns):
        genus = trial.genus(some)
        best = max(best, *(float(genus[kept].max(axis=0).mean()) for kept in sheets))
    return best


def _small(compiled: CompiledReference) -> str:
    """Compare with the best of all sheets of 6 of 12 genera and 4 of 8 characters."""
    rng = np.random.default_rng(SEED)
    seen = [c.id for c in compiled.characters if c.seen == "w"]
    ratios = []
    for _ in range(SMALL_REGIONS):
        genera = rng.choice(compiled.genera, SMALL_GENERA, replace=False).tolist()
        characters = rng.choice(seen, SMALL_CHARACTERS, replace=False).tolist()
        question = ask_page(compiled, Observer.UNKNOWN, None, genera=genera, characters=characters)
        trial = Trial.draw(question, 300, rng)
        found = trial.score(search_sheet(trial, PageBudget(6, 4)))
        ratios.append(found / best_of_all(trial, 6, 4))
    return (
        f"sheet, {SMALL_REGIONS} invented regions of 12 genera x 8 characters, 6 x 4 chosen: "
        f"worst {min(ratios):.4f}, mean {np.mean(ratios):.4f} of the best of all "
        "(wanted .98 at least)"
    )


def _large(question: PageQuestion, colonies: int) -> list[str]:
    """Compare two pages with a thousand random ones on colonies drawn anew."""
    rng = np.random.default_rng(SEED)
    start = time.process_time()
    choice = choose_page(question, PageBudget(*PAGE, 2), rng, colonies=colonies)
    chosen = time.process_time() - start
    start = time.process_time()
    trial = Trial.draw(question, colonies, rng)
    beside = compare_page(trial, choice.sheet, rng)
    compared = time.process_time() - start
    size = f"{len(choice.sheet.rows)} genera x {len(choice.sheet.columns)} characters"
    return [
        f"sheet, 2 pages of {PAGE[0]} x {PAGE[1]}, {REGION}, {GENERA} genera: {size} chosen in "
        f"{chosen:.0f} s of one core with {colonies} colonies",
        f"  named right {choice.accuracy.value:.3f} (se {choice.accuracy.se:.3f}; on the colonies "
        f"of the search {choice.searched:.3f}); with 'not on this sheet' {choice.told.value:.3f}",
        f"  no limit to genera {choice.all_genera.value:.3f}, to characters "
        f"{choice.all_characters.value:.3f}, to either {choice.unlimited.value:.3f}",
        f"  1,000 random sheets: median {np.median(beside.random):.3f}, best "
        f"{beside.random[-1]:.3f}, no better than chosen {beside.beaten:.4f} (wanted 1); "
        f"alphabetical {beside.alphabetical:.3f}; in {compared:.0f} s",
        f"  1,000 sheets of the chosen genera and random characters: median "
        f"{np.median(beside.same_genera):.3f}, best {beside.same_genera[-1]:.3f}",
        f"  characters: {', '.join(one.character for one in choice.characters)}",
        f"  genera: {', '.join(one.genus for one in choice.genera)}",
    ]


def _restarts(question: PageQuestion, colonies: int, starts: int) -> str:
    """Search again from random sheets, to see whether something better was missed."""
    rng = np.random.default_rng(SEED)
    trial, budget = Trial.draw(question, colonies, rng), PageBudget(*PAGE, 2)
    found = trial.score(search_sheet(trial, budget))
    best = found
    for _ in range(starts):
        rows = rng.choice(len(trial.genera), PAGE[0], replace=False).tolist()
        columns = rng.choice(question.characters, PAGE[1], replace=False).tolist()
        start = Sheet(tuple(sorted(rows)), tuple(sorted(columns)))
        best = max(best, trial.score(search_sheet(trial, budget, start=start)))
    return f"  from {starts} random starts besides: {best:.4f}, without them {found:.4f}"


def _printed(colonies: int, sheets: int) -> list[str]:
    """Make two pages of A4 as a lead does, beside random sheets as long."""
    command = MakeFieldSheet(REGION, "a4", 2, seed=SEED, colonies=colonies, random=0)
    start = time.process_time()
    made = make_field_sheet(None, command, datetime.now().astimezone())
    alone = time.process_time() - start
    made = make_field_sheet(None, replace(command, random=sheets), datetime.now().astimezone())
    choice, beside = made.choice, made.beside
    if beside is None:
        return []
    size = f"{len(choice.genera)} genera x {len(choice.characters)} characters"
    return [
        f"sheet as printed, 2 pages of A4, {REGION}: {size} ({made.room.rows} rows x "
        f"{made.room.columns} columns a page) in {alone:.0f} s of one core, {len(made.pdf)} bytes",
        f"  named right {choice.accuracy.value:.3f} (se {choice.accuracy.se:.3f}), every genus "
        f"and character seen in the water {choice.unlimited.value:.3f}",
        f"  {len(beside.random)} random sheets of as many genera and characters, however wide: "
        f"median {np.median(beside.random):.3f}, best {beside.random[-1]:.3f}, no better than "
        f"chosen {beside.beaten:.4f}; alphabetical {beside.alphabetical:.3f}",
    ]


def bench_sheet(colonies: int = 4000, starts: int = 8) -> list[str]:
    """Return lines of accuracy and seconds."""
    compiled = Library().compiled
    question = ask_page(
        compiled, Observer.UNKNOWN, REGION, genera=commonest(compiled, REGION, GENERA)
    )
    lines = [_small(compiled), *_printed(colonies, 1000), *_large(question, colonies)]
    lines.append(_restarts(question, min(colonies, 1000), starts))
    trial = Trial.draw(question, min(colonies, 1000), np.random.default_rng(SEED))
    curve = page_curve(trial, PageBudget(*PAGE, 4))
    scores = ", ".join(f"{room.pages}: {score:.3f}" for room, _, score in curve)
    return [*lines, f"  by pages, on the colonies of the search: {scores}"]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--colonies", type=int, default=4000)
    parser.add_argument("--starts", type=int, default=8)
    asked = parser.parse_args()
    for line in bench_sheet(asked.colonies, asked.starts):
        print(line)
