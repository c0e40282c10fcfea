"""A chosen sheet beside sheets that nobody chose: random ones, and the alphabet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from corallum.model.compiled import Floats
from corallum.model.page_accuracy import Sheet, Trial

__all__ = ["PageComparison", "alphabetical_sheet", "compare_page", "random_sheet"]


@dataclass(frozen=True, slots=True, eq=False)
class PageComparison:
    """Expected accuracy of sheets of one size on the same colonies.

    Attributes
    ----------
    chosen : float
        Of the sheet that was chosen.
    random : ndarray, shape (sheets,)
        Of random sheets, ascending.
    same_genera : ndarray, shape (sheets,)
        Of sheets of the chosen genera and random characters, ascending.
    alphabetical : float
        Of the first genera and the first characters of the alphabet.
    """

    chosen: float
    random: Floats
    same_genera: Floats
    alphabetical: float

    @property
    def beaten(self) -> float:
        """Share of the random sheets that are no better than the chosen one."""
        return float((self.random <= self.chosen).mean())


def random_sheet(trial: Trial, size: tuple[int, int], rng: np.random.Generator) -> Sheet:
    """Draw a sheet of so many genera and characters, each as likely as any other.

    Parameters
    ----------
    trial : Trial
        Says what there is to choose from.
    size : (int, int)
        Genera and characters.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Sheet
        Without repeats.
    """
    rows = rng.choice(len(trial.genera), size[0], replace=False)
    columns = rng.choice(trial.question.characters, size[1], replace=False)
    return Sheet(tuple(sorted(rows.tolist())), tuple(sorted(columns.tolist())))


def alphabetical_sheet(trial: Trial, size: tuple[int, int]) -> Sheet:
    """Take the first genera and the first characters of the alphabet, by name and id.

    Parameters
    ----------
    trial : Trial
        Says what there is to choose from.
    size : (int, int)
        Genera and characters.

    Returns
    -------
    Sheet
        As an index would begin.
    """
    genera, characters = trial.compiled.genera, trial.compiled.characters
    rows = sorted(range(len(trial.genera)), key=lambda row: genera[trial.genera[row]])
    columns = sorted(trial.question.characters, key=lambda c: characters[c].id)
    return Sheet(tuple(sorted(rows[: size[0]])), tuple(sorted(columns[: size[1]])))


def compare_page(
    trial: Trial, sheet: Sheet, rng: np.random.Generator, *, sheets: int = 1000
) -> PageComparison:
    """Compare a sheet with others of its size.

    Parameters
    ----------
    trial : Trial
        Colonies, best others than the sheet was chosen on.
    sheet : Sheet
        The chosen one.
    rng : numpy.random.Generator
        Draws the random sheets.
    sheets : int
        How many of them.

    Returns
    -------
    PageComparison
        Colonies off a sheet count as wrong.
    """
    size = (len(sheet.rows), len(sheet.columns))
    drawn = [random_sheet(trial, size, rng) for _ in range(sheets)]
    return PageComparison(
        chosen=trial.score(sheet),
        random=np.sort([trial.score(other) for other in drawn]),
        same_genera=np.sort([trial.score(Sheet(sheet.rows, other.columns)) for other in drawn]),
        alphabetical=trial.score(alphabetical_sheet(trial, size)),
    )
