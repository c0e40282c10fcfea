"""Search for the genera and characters that earn their place on a sheet.

Greedy, then add, drop and exchange one genus or one character at a time until
nothing improves, from two starts. Not a proof of the best: how near it comes on
sheets small enough to try all is checked in the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from corallum.model.compiled import Floats
from corallum.model.page_accuracy import Sheet, Trial, score_added_rows, score_rows
from corallum.model.page_budget import PageBudget, placed

__all__ = ["Progress", "page_curve", "search_sheet"]

Progress = Callable[[float], None]

# A gain below this is rounding: a character that says nothing never earns a column.
_LEAST_GAIN = 1e-9


def search_sheet(
    trial: Trial,
    budget: PageBudget,
    *,
    credit: float = 0.0,
    start: Sheet | None = None,
    progress: Progress = lambda _: None,
) -> Sheet:
    """Choose the genera and characters of a sheet by expected accuracy.

    Rows are filled as far as the budget goes; a column is left empty where no
    character adds to the accuracy.

    Parameters
    ----------
    trial : Trial
        Colonies to try sheets on.
    budget : PageBudget
        Room on the pages; the better of the ways of laying them out is taken.
    credit : float
        What "not on this sheet" is worth where it is true, 0 to 1.
    start : Sheet, optional
        A sheet that fits into the budget, to improve upon as well: what comes out is
        then never worse on the trial's colonies, unless ``credit`` is above 0.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Sheet
        Found the same way for the same trial.

    Raises
    ------
    InputError
        If what must have a place is unknown or needs more room.
    """
    fixed = Sheet(*placed(trial.question, budget))
    ids = [trial.compiled.characters[c].id for c in trial.question.characters]
    shapes = budget.shapes(len(trial.genera), budget.width(ids))
    best, best_score = Sheet((), ()), -np.inf
    for i, shape in enumerate(shapes):
        search = _Search(trial, (budget, shape), credit, fixed)
        for sheet in search.starts(start):
            found = search.improve(sheet)
            score = trial.score(found, credit)
            if score > best_score + _LEAST_GAIN:
                best, best_score = found, score
        progress((i + 1) / len(shapes))
    return best


class _Search:
    """Search for one layout of the pages: so many rows, so many columns."""

    def __init__(
        self, trial: Trial, room: tuple[PageBudget, tuple[int, int]], credit: float, fixed: Sheet
    ) -> None:
        self.trial, self.credit, self.fixed = trial, credit, fixed
        self.budget, self.shape = room
        self.most_rows = self.shape[0]
        self.ids = [character.id for character in trial.compiled.characters]

    def starts(self, given: Sheet | None) -> Iterator[Sheet]:
        """Yield sheets to improve: the rows best without any character, and with all."""
        if not self._fits(self.fixed):
            return
        for columns in ((), self.trial.question.characters):
            rows = self._rows(self.trial.genus(columns), self.fixed.rows)
            yield Sheet(rows, self.fixed.columns)
        if given is not None:
            both = Sheet(
                tuple(sorted({*given.rows, *self.fixed.rows})),
                tuple(sorted({*given.columns, *self.fixed.columns})),
            )
            if self._fits(both):
                yield both

    def _fits(self, sheet: Sheet) -> bool:
        """Whether there is room for a sheet."""
        ids = [self.ids[c] for c in sheet.columns]
        return self.budget.holds(self.shape, len(sheet.rows), ids)

    def improve(self, sheet: Sheet) -> Sheet:
        """Add, drop and exchange until nothing helps."""
        score = -np.inf
        while True:
            sheet = self._add_columns(sheet)
            sheet = self._exchange_columns(sheet)
            now = self.trial.score(sheet, self.credit)
            if now <= score + _LEAST_GAIN:
                return sheet
            score = now

    def _rows(self, genus: Floats, rows: Sequence[int]) -> tuple[int, ...]:
        """Fill the rows, then exchange one at a time until nothing helps."""
        kept = list(rows)
        while len(kept) < self.most_rows:
            kept.append(int(score_added_rows(genus, kept, self.credit).argmax()))
        score, at, unchanged = score_rows(genus, kept, self.credit).mean(), 0, 0
        while unchanged < len(kept):
            others = kept[:at] + kept[at + 1 :]
            unchanged += 1
            if kept[at] not in self.fixed.rows:
                added = score_added_rows(genus, others, self.credit)
                other = int(added.argmax())
                if added[other] > score + _LEAST_GAIN:
                    kept[at], score, unchanged = other, added[other], 0
            at = (at + 1) % len(kept)
        return tuple(sorted(kept))

    def _settle(self, rows: Sequence[int], columns: Sequence[int]) -> Sheet:
        """Choose the rows again for new columns."""
        ordered = tuple(sorted(columns))
        return Sheet(self._rows(self.trial.genus(ordered), rows), ordered)

    def _has_room(self, columns: Sequence[int]) -> bool:
        """Whether some characters fit in."""
        return self.budget.holds(self.shape, 0, [self.ids[c] for c in columns])

    def _best_column(
        self, rows: Sequence[int], columns: Sequence[int], apart: int | None = None
    ) -> tuple[float, int]:
        """Return the score with the character that adds most for its width, and which; -1 is none.

        With columns of one width that is the best score with one more.
        """
        widths = self.budget.widths
        base = self.trial.score(Sheet(tuple(rows), tuple(columns)), self.credit) if widths else 0.0
        best, score_of_best, found = -np.inf, -np.inf, -1
        for c in self.trial.question.characters:
            if c not in columns and c != apart and self._has_room((*columns, c)):
                genus = self.trial.genus((*columns, c))
                score = float(score_rows(genus, rows, self.credit).mean())
                worth = (score - base) / widths.get(self.ids[c], 1)
                if worth > best + _LEAST_GAIN:
                    best, score_of_best, found = worth, score, c
        return score_of_best, found

    def _add_columns(self, sheet: Sheet) -> Sheet:
        """Add the character that helps most, again and again."""
        sheet = self._settle(sheet.rows, sheet.columns)
        while True:
            best, c = self._best_column(sheet.rows, sheet.columns)
            if c < 0 or best <= self.trial.score(sheet, self.credit) + _LEAST_GAIN:
                return sheet
            sheet = self._settle(sheet.rows, (*sheet.columns, c))

    def _in_place(
        self, rows: Sequence[int], others: tuple[int, ...], out: int
    ) -> tuple[float, tuple[int, ...]]:
        """Return the score of a sheet without one character and the best in its place.

        That is one other, or, where characters differ in width, as many as fit.
        """
        if not self.budget.widths:
            best, c = self._best_column(rows, others, apart=out)
            return best, (*others, c)
        kept = others
        score = self.trial.score(Sheet(tuple(rows), kept), self.credit)
        while True:
            best, c = self._best_column(rows, kept, apart=out)
            if c < 0 or best <= score + _LEAST_GAIN:
                return score, kept
            score, kept = best, (*kept, c)

    def _exchange_columns(self, sheet: Sheet) -> Sheet:
        """Drop each character in turn, or put another in its place, where that helps."""
        score = self.trial.score(sheet, self.credit)
        waiting = [c for c in sheet.columns if c not in self.fixed.columns]
        while waiting:
            out = waiting.pop(0)
            others = tuple(c for c in sheet.columns if c != out)
            best, changed = self._in_place(sheet.rows, others, out)
            without = self.trial.score(Sheet(sheet.rows, others), self.credit)
            if max(best, without) <= score + _LEAST_GAIN:
                continue
            sheet = self._settle(sheet.rows, others if without >= best else changed)
            score = self.trial.score(sheet, self.credit)
            again = [x for x in sheet.columns if x not in (*waiting, *self.fixed.columns)]
            waiting = [x for x in waiting if x in sheet.columns] + again
        return sheet


def page_curve(
    trial: Trial, budget: PageBudget, *, credit: float = 0.0, progress: Progress = lambda _: None
) -> tuple[tuple[PageBudget, Sheet, float], ...]:
    """Choose a sheet of one page, of two, and so on, to show what one page more would gain.

    Parameters
    ----------
    trial : Trial
        Colonies to try sheets on.
    budget : PageBudget
        Room on a page, and the most pages.
    credit : float
        As in :func:`search_sheet`.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    tuple of (PageBudget, Sheet, float)
        For each number of pages the sheet and its expected accuracy on the trial's
        colonies; each is also searched from the one before, hence never worse while
        ``credit`` is 0.
    """
    curve: list[tuple[PageBudget, Sheet, float]] = []
    for pages in range(1, budget.pages + 1):
        room = replace(budget, pages=pages)
        start = curve[-1][1] if curve else None
        sheet = search_sheet(trial, room, credit=credit, start=start)
        curve.append((room, sheet, trial.score(sheet, credit)))
        progress(pages / budget.pages)
    return tuple(curve)
