"""What a field sheet carries, what it leaves out, and what that costs.

Chooses genera and characters on one set of simulated colonies and judges the choice
on another, so that its accuracy is not flattered by the search. All figures are about
the reference as written, not about the reef.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault, InputError
from corallum.model.assess import Figure
from corallum.model.compiled import Floats
from corallum.model.page_accuracy import Sheet, Trial, figure, score_added_rows, score_rows
from corallum.model.page_budget import PageBudget, PageQuestion
from corallum.model.page_search import Progress, search_sheet

__all__ = [
    "LeftCharacter",
    "LeftGenus",
    "PageCharacter",
    "PageChoice",
    "PageGenus",
    "account_for",
    "choose_page",
]

# What a genus is taken for is listed down to this share of its colonies.
_LEAST_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class PageGenus:
    """A genus on the sheet.

    Attributes
    ----------
    genus : str
        Its name.
    share : float
        Share of the region's colonies.
    right : float
        Share of its colonies that are named right.
    worth : float
        Accuracy lost if its row is left empty.
    taken_for : tuple of (str, float)
        Other genera of the sheet and the share of its colonies named so, the most
        frequent first, down to 1 %.
    """

    genus: str
    share: float
    right: float
    worth: float
    taken_for: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class LeftGenus:
    """A genus that the sheet leaves out.

    Attributes
    ----------
    genus, share, taken_for
        As in :class:`PageGenus`.
    gain : float
        Accuracy gained if it had a row of its own beside the others.
    noticed : float
        Share of its colonies for which "not on this sheet" is the most probable answer.
    """

    genus: str
    share: float
    gain: float
    noticed: float
    taken_for: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class PageCharacter:
    """A character on the sheet.

    Attributes
    ----------
    character : str
        Its id.
    applies : float
        Share of the colonies of the sheet's genera to which it applies.
    states : tuple of (str, float)
        States to draw, in the order of the scheme, and the share of the colonies of the
        sheet's genera that show each; empty for a size.
    worth : float
        Accuracy lost if its column is left empty.
    """

    character: str
    applies: float
    states: tuple[tuple[str, float], ...]
    worth: float


@dataclass(frozen=True, slots=True)
class LeftCharacter:
    """A character that the sheet leaves out, and the accuracy gained by a column for it."""

    character: str
    gain: float


@dataclass(frozen=True, slots=True)
class PageChoice:
    """A chosen sheet and its expected accuracy.

    Attributes
    ----------
    sheet : Sheet
        The choice as indices.
    searched : float
        Expected accuracy on the colonies of the search; too high by what the search
        made of chance.
    accuracy : Figure
        Probability that the genus is named right, on other colonies.
    told : Figure
        Probability of a right answer where "not on this sheet" is an answer too.
    all_genera, all_characters, unlimited : Figure
        Accuracy with no limit to rows, to columns, to either.
    genera, characters : tuple
        What the sheet carries, the most worth first.
    left_genera, left_characters : tuple
        What it leaves out, the most missed first.
    """

    sheet: Sheet
    searched: float
    accuracy: Figure
    told: Figure
    all_genera: Figure
    all_characters: Figure
    unlimited: Figure
    genera: tuple[PageGenus, ...]
    characters: tuple[PageCharacter, ...]
    left_genera: tuple[LeftGenus, ...]
    left_characters: tuple[LeftCharacter, ...]


def choose_page(
    question: PageQuestion,
    budget: PageBudget,
    rng: np.random.Generator,
    *,
    colonies: int = 4000,
    credit: float = 0.0,
    progress: Progress = lambda _: None,
) -> PageChoice:
    """Choose what a field sheet carries, and say what it leaves out.

    Parameters
    ----------
    question : PageQuestion
        Region, observer and characters; see :func:`corallum.model.page_budget.ask_page`.
    budget : PageBudget
        Room on the pages.
    rng : numpy.random.Generator
        Draws the colonies; the same state gives the same sheet.
    colonies : int
        How many are drawn to search on, and as many again to judge the choice on.
    credit : float
        What "not on this sheet" is worth to the search where it is true, 0 to 1.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    PageChoice
        With standard errors of the simulation.

    Raises
    ------
    InputError
        If there are fewer than two colonies, or the credit is not from 0 to 1.
    """
    _check(colonies, credit)
    trial = Trial.draw(question, colonies, rng)
    sheet = search_sheet(trial, budget, credit=credit, progress=lambda done: progress(0.9 * done))
    choice = account_for(Trial.draw(question, colonies, rng), sheet, trial.score(sheet))
    progress(1.0)
    return choice


def _check(colonies: int, credit: float) -> None:
    """Refuse numbers that cannot be meant."""
    faults = []
    if colonies < 2:
        remedy = "Some thousand give a steady choice."
        faults.append(Fault("field sheet", "colonies", "2 or more", str(colonies), remedy))
    if not 0 <= credit <= 1:
        remedy = "0 counts colonies off the sheet as wrong."
        faults.append(Fault("field sheet", "credit", "a number from 0 to 1", f"{credit:g}", remedy))
    if faults:
        raise InputError(faults)


def account_for(trial: Trial, sheet: Sheet, searched: float = np.nan) -> PageChoice:
    """Judge a sheet on a trial's colonies, whoever chose it.

    Parameters
    ----------
    trial : Trial
        Colonies, best others than the sheet was chosen on.
    sheet : Sheet
        One genus or more.
    searched : float
        Its expected accuracy on the colonies of the search.

    Returns
    -------
    PageChoice
        What it carries, leaves out, and costs.
    """
    genus, everything = trial.genus(sheet.columns), trial.genus(trial.question.characters)
    all_rows = tuple(range(len(trial.genera)))
    genera, left_genera = _genera(trial, sheet, genus)
    characters, left_characters = _characters(trial, sheet)
    return PageChoice(
        sheet,
        searched,
        accuracy=figure(score_rows(genus, sheet.rows)),
        told=figure(score_rows(genus, sheet.rows, credit=1.0)),
        all_genera=figure(score_rows(genus, all_rows)),
        all_characters=figure(score_rows(everything, sheet.rows)),
        unlimited=figure(score_rows(everything, all_rows)),
        genera=genera,
        characters=characters,
        left_genera=left_genera,
        left_characters=left_characters,
    )


def _genera(
    trial: Trial, sheet: Sheet, genus: Floats
) -> tuple[tuple[PageGenus, ...], tuple[LeftGenus, ...]]:
    """Say what becomes of each genus, on the sheet and off it."""
    rows = list(sheet.rows)
    score = float(score_rows(genus, rows).mean())
    added = score_added_rows(genus, rows)
    named = np.array(rows)[genus[rows].argmax(axis=0)]
    fate = _fate(genus, named)
    off = 1.0 - genus[rows].sum(axis=0) > genus[rows].max(axis=0)
    noticed = genus @ off / genus.sum(axis=1)
    names = [trial.compiled.genera[g] for g in trial.genera]
    held, left = [], []
    for i, name in enumerate(names):
        taken = _taken_for(names, fate[i], i)
        share = float(trial.mix[i])
        if i in rows:
            without = [row for row in rows if row != i]
            worth = score - float(score_rows(genus, without).mean())
            held.append(PageGenus(name, share, float(fate[i, i]), worth, taken))
        else:
            gain = float(added[i]) - score
            left.append(LeftGenus(name, share, gain, float(noticed[i]), taken))
    return (
        tuple(sorted(held, key=lambda one: (-one.worth, one.genus))),
        tuple(sorted(left, key=lambda one: (-one.gain, one.genus))),
    )


def _fate(genus: Floats, named: NDArray[np.int64]) -> Floats:
    """Share of the colonies of each genus that are named as each, shape (genera, genera)."""
    said = np.zeros((genus.shape[1], len(genus)))
    said[np.arange(len(named)), named] = 1.0
    shares: Floats = genus @ said / genus.sum(axis=1, keepdims=True)
    return shares


def _taken_for(names: list[str], shares: Floats, own: int) -> tuple[tuple[str, float], ...]:
    """List what one genus is taken for, the most frequent first."""
    order = np.argsort(-shares, kind="stable").tolist()
    return tuple(
        (names[j], float(shares[j])) for j in order if j != own and shares[j] >= _LEAST_SHARE
    )


def _characters(
    trial: Trial, sheet: Sheet
) -> tuple[tuple[PageCharacter, ...], tuple[LeftCharacter, ...]]:
    """Say what each character is worth, on the sheet and off it."""
    compiled = trial.compiled
    score = trial.score(sheet)
    mix = np.zeros(len(compiled.genera) + 1)
    mix[trial.genera[list(sheet.rows)]] = trial.mix[list(sheet.rows)]
    weight = compiled.form_weight * mix[compiled.form_genus] / mix.sum()
    held, left = [], []
    for c in trial.question.characters:
        character = compiled.characters[c]
        if c not in sheet.columns:
            more = tuple(sorted((*sheet.columns, c)))
            gain = trial.score(Sheet(sheet.rows, more)) - score
            left.append(LeftCharacter(character.id, gain))
            continue
        fewer = tuple(one for one in sheet.columns if one != c)
        worth = score - trial.score(Sheet(sheet.rows, fewer))
        shares = weight @ character.true if not character.is_size else np.zeros(0)
        states = tuple(zip(character.states, shares.tolist(), strict=False))
        applies = float(weight @ character.applies)
        held.append(PageCharacter(character.id, applies, states, worth))
    return (
        tuple(sorted(held, key=lambda one: (-one.worth, one.character))),
        tuple(sorted(left, key=lambda one: (-one.gain, one.character))),
    )
