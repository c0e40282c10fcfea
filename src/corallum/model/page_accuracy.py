"""How often a diver with a field sheet names the genus right.

A fixed set of colonies is drawn once from the model, with reports of every
character, and every sheet is tried on the same ones: differences between sheets are
then sharper than the figures themselves. Likelihoods are the model's own, one whole
evidence group at a time, because a group is misread as a whole; each distinct part
of a group is worked out once and kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.model.assess import Figure
from corallum.model.compiled import Floats
from corallum.model.evidence import Evidence
from corallum.model.page_budget import PageQuestion
from corallum.model.simulate import simulate

__all__ = ["Sheet", "Trial", "figure", "score_added_rows", "score_rows"]

# Likelihoods of parts of groups are kept up to this size, the oldest dropped first.
_MOST_BYTES = 400_000_000


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a sheet carries.

    Attributes
    ----------
    rows : tuple of int
        Genera, as positions in a trial's ``genera``, ascending.
    columns : tuple of int
        Characters, as indices of the reference, ascending.
    """

    rows: tuple[int, ...]
    columns: tuple[int, ...]


class Trial:
    """Colonies that sheets are tried on.

    Parameters
    ----------
    question : PageQuestion
        Region, observer and characters.
    evidence : Evidence
        Reports of N colonies: of every character that can have a column.
    truth : ndarray of int, shape (N,)
        Genus of each colony, as an index of the reference.
    """

    def __init__(
        self, question: PageQuestion, evidence: Evidence, truth: NDArray[np.int64]
    ) -> None:
        compiled = question.compiled
        self.question, self.compiled, self.kernel = question, compiled, question.kernel
        self.evidence, self.size = evidence, evidence.size
        self.genera = np.flatnonzero(question.mix)
        self.mix = question.mix[self.genera]
        self.truth: NDArray[np.int64] = np.searchsorted(self.genera, truth)
        self._forms = np.flatnonzero(np.isin(compiled.form_genus, self.genera))
        of_form = compiled.form_genus[self._forms]
        self._starts = np.searchsorted(of_form, self.genera)
        self._weight = compiled.form_weight[self._forms] * question.mix[of_form]
        self._kept: dict[tuple[int, ...], Floats] = {}

    @classmethod
    def draw(cls, question: PageQuestion, colonies: int, rng: np.random.Generator) -> Trial:
        """Draw colonies in the region's mix, reported with the observer's errors.

        Parameters
        ----------
        question : PageQuestion
            Region, observer and characters.
        colonies : int
            N, how many.
        rng : numpy.random.Generator
            The same state gives the same colonies.

        Returns
        -------
        Trial
            Sizes are judged by eye, three readings each.
        """
        looked = np.zeros((colonies, len(question.compiled.characters)), dtype=np.bool_)
        looked[:, question.characters] = True
        drawn = simulate(question.kernel, question.mix, looked, rng)
        return cls(question, drawn.evidence, drawn.genus)

    def genus(self, columns: Iterable[int]) -> Floats:
        """P(genus) of every colony from the reports of some characters, exactly.

        Parameters
        ----------
        columns : iterable of int
            Characters looked at; the others count as not looked at.

        Returns
        -------
        ndarray, shape (genera, N)
            Adding up to 1 over the genera of the region's mix.
        """
        groups: dict[int, list[int]] = {}
        for c in sorted(set(columns)):
            groups.setdefault(self.compiled.characters[c].group, []).append(c)
        joint = np.broadcast_to(self._weight, (self.size, len(self._weight)))
        for members in groups.values():
            joint = joint * self._group(tuple(members))
        genus = np.ascontiguousarray(np.add.reduceat(joint, self._starts, axis=1).T)
        genus /= genus.sum(axis=0)
        return genus

    def _group(self, members: tuple[int, ...]) -> Floats:
        """Likelihood of some characters of one group, the largest of each colony being 1."""
        found = self._kept.pop(members, None)
        if found is None:
            (group,) = self.kernel.groups(self.reports(members))
            found = group.likelihood[:, self._forms]
            found /= found.max(axis=1, keepdims=True)
            while len(self._kept) >= max(_MOST_BYTES // found.nbytes, 1):
                del self._kept[next(iter(self._kept))]
        # Put back last, so that what has not been asked for longest is dropped first.
        self._kept[members] = found
        return found

    def reports(self, columns: Sequence[int]) -> Evidence:
        """Return the colonies' reports of some characters alone."""
        evidence = self.evidence
        return Evidence(
            evidence.size,
            {c: reports for c, reports in evidence.states.items() if c in columns},
            {c: reports for c, reports in evidence.sizes.items() if c in columns},
            evidence.conditions,
        )

    def score(self, sheet: Sheet, credit: float = 0.0) -> float:
        """Return the expected accuracy of a sheet; see :func:`score_rows`."""
        return float(score_rows(self.genus(sheet.columns), sheet.rows, credit).mean())


def score_rows(genus: Floats, rows: Sequence[int], credit: float = 0.0) -> Floats:
    """Return the chance that each colony is answered right with some genera on the sheet.

    Parameters
    ----------
    genus : ndarray, shape (genera, N)
        P(genus) from what the sheet's characters show.
    rows : sequence of int
        Genera on the sheet.
    credit : float
        What "not on this sheet" is worth where it is true, 0 to 1. At 0 the diver names
        the most probable genus of the sheet, and a colony that is not on it is wrong.
        Otherwise the answer of the highest expected worth is given; with 1 the most
        probable, so that a sheet of nothing would be always right.

    Returns
    -------
    ndarray, shape (N,)
        Expected worth of the answer: with credit 0, P(the genus named is right).
    """
    named, off = _best_and_rest(genus, rows)
    return np.maximum(named, credit * off) if credit else named


def score_added_rows(genus: Floats, rows: Sequence[int], credit: float = 0.0) -> Floats:
    """Return the mean score of a sheet with each genus added, shape (genera,).

    Parameters
    ----------
    genus : ndarray, shape (genera, N)
        P(genus) from what the sheet's characters show.
    rows : sequence of int
        Genera on the sheet; for these themselves the answer is -1.
    credit : float
        As in :func:`score_rows`.
    """
    named, off = _best_and_rest(genus, rows)
    worth = np.maximum(named, genus)
    if credit:
        np.maximum(worth, credit * (off - genus), out=worth)
    scores: Floats = worth.mean(axis=1)
    scores[list(rows)] = -1.0
    return scores


def _best_and_rest(genus: Floats, rows: Sequence[int]) -> tuple[Floats, Floats]:
    """P(most probable genus of the sheet), and P(not on the sheet), each of shape (N,)."""
    held = genus[list(rows)]
    return held.max(axis=0, initial=0.0), 1.0 - held.sum(axis=0)


def figure(values: Floats) -> Figure:
    """Return a mean over colonies and its standard error."""
    return Figure(float(values.mean()), float(values.std(ddof=1) / np.sqrt(len(values))))
