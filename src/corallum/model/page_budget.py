"""What a field sheet may hold, and for whom it is made.

Says what is asked before anything is drawn: the mix of genera of a region, the
observer, the characters that can be seen, and how many rows and columns the pages
have. Refuses what cannot be meant; it chooses nothing.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Errors, OwnErrors, size_error, state_errors
from corallum.model.likelihood import Kernel
from corallum.model.prior import genus_prior

__all__ = ["PageBudget", "PageQuestion", "ask_page", "placed", "team_errors"]

_WHERE = "field sheet"


@dataclass(frozen=True, slots=True)
class PageBudget:
    """Room on the pages of a field sheet.

    Parameters
    ----------
    rows : int
        Genera on a page.
    columns : int
        Characters on a page, each with its drawn states.
    pages : int
        Pages. Laid side by side they hold more characters, one below the other
        more genera.
    genera, characters : tuple of str
        Names and ids that have a place whatever they are worth.
    widths : mapping of str to int
        Columns that a character takes, by id; 1 where it is not named. None is split
        over two pages.

    Raises
    ------
    InputError
        With every number that is not a whole number of 1 or more.
    """

    rows: int
    columns: int
    pages: int = 1
    genera: tuple[str, ...] = ()
    characters: tuple[str, ...] = ()
    widths: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        faults = [
            Fault(_WHERE, name, "a whole number from 1", repr(value), "Give the page some room.")
            for name in ("rows", "columns", "pages")
            if not _is_count(value := getattr(self, name))
        ]
        faults += [
            Fault(_WHERE, f"width of {id_}", "a whole number from 1", repr(width), "Mend it.")
            for id_, width in self.widths.items()
            if not _is_count(width)
        ]
        if faults:
            raise InputError(faults)

    def shapes(self, genera: int, characters: int) -> tuple[tuple[int, int], ...]:
        """List what the pages hold in each way of laying them out.

        Parameters
        ----------
        genera, characters : int
            How many there are to choose from, characters as columns: more room is no use.

        Returns
        -------
        tuple of (int, int)
            Genera and columns of each layout that no other one holds.
        """
        found = {
            (min(down * self.rows, genera), min(self.pages // down * self.columns, characters))
            for down in range(1, self.pages + 1)
        }
        return tuple(
            sorted(
                one
                for one in found
                if not any(other != one and _holds(other, one) for other in found)
            )
        )

    def width(self, characters: Iterable[str]) -> int:
        """Columns that some characters take together."""
        return sum(self.widths.get(id_, 1) for id_ in characters)

    def pages_of(self, characters: Sequence[str]) -> tuple[tuple[str, ...], ...] | None:
        """Lay characters out on pages side by side, the widest first where there is room.

        Parameters
        ----------
        characters : sequence of str
            Ids.

        Returns
        -------
        tuple of tuple of str, or None
            The characters of each page in the order given, on as few pages as this way
            of filling needs; None if one is wider than a page.
        """
        pages: list[set[str]] = []
        for id_ in sorted(characters, key=lambda one: -self.widths.get(one, 1)):
            if self.widths.get(id_, 1) > self.columns:
                return None
            page = next((one for one in pages if self.width((*one, id_)) <= self.columns), None)
            if page is None:
                page = set()
                pages.append(page)
            page.add(id_)
        return tuple(tuple(id_ for id_ in characters if id_ in page) for page in pages)

    def holds(self, shape: tuple[int, int], genera: int, characters: Sequence[str]) -> bool:
        """Whether a layout of :meth:`shapes` has room for so many genera, and characters."""
        if not self.widths:
            return _holds(shape, (genera, len(characters)))
        if genera > shape[0] or self.width(characters) > shape[1]:
            return False
        pages = self.pages_of(characters)
        return pages is not None and len(pages) <= -(-shape[1] // self.columns)


def _is_count(value: object) -> bool:
    """Whether a value is a whole number of 1 or more."""
    return isinstance(value, int) and not isinstance(value, bool) and value >= 1


def _holds(larger: tuple[int, int], smaller: tuple[int, int]) -> bool:
    """Whether one layout has room for all of another."""
    return larger[0] >= smaller[0] and larger[1] >= smaller[1]


@dataclass(frozen=True, slots=True, eq=False)
class PageQuestion:
    """For whom and where a sheet is made.

    Attributes
    ----------
    kernel : Kernel
        The reference and the observer's errors.
    mix : ndarray, shape (G + 1,)
        P(genus) of the colonies that the diver will meet, adding up to 1; only genera
        with a share can have a row. "Something else" has none.
    characters : tuple of int
        Characters that can have a column, in the order of the scheme.
    """

    kernel: Kernel
    mix: Floats
    characters: tuple[int, ...]

    @property
    def compiled(self) -> CompiledReference:
        """The reference."""
        return self.kernel.compiled


def ask_page(
    compiled: CompiledReference,
    observer: Errors,
    region: str | None,
    *,
    seen: Sequence[str] = ("w",),
    genera: Sequence[str] | None = None,
    characters: Sequence[str] | None = None,
) -> PageQuestion:
    """Put the question that a choice of pages answers.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    observer : Observer or OwnErrors
        Whose errors the diver makes.
    region : str or None
        Region whose mix of genera is met; None is anywhere.
    seen : sequence of str
        How characters can be seen: w in water, l with a lens, k on the skeleton.
    genera : sequence of str, optional
        Genera met there, their shares of the region brought to 1. Without it, all of
        the region's list.
    characters : sequence of str, optional
        Ids of the characters to choose from. Without it, all that can be seen.

    Returns
    -------
    PageQuestion
        Ready to be drawn from.

    Raises
    ------
    InputError
        With every unknown region, genus and character, and where nothing is left.
    """
    faults = _unknown("genus", genera or (), compiled.genera)
    faults += _unknown("character", characters or (), tuple(compiled.character_index))
    if region is not None and region not in compiled.priors:
        faults += _unknown("region", (region,), tuple(compiled.priors))
    if faults:
        raise InputError(faults)
    prior = genus_prior(compiled, region)
    listed = prior[:-1] > 2 * compiled.settings.prior_off_list
    if genera is not None:
        listed = np.isin(np.array(compiled.genera), np.array(genera, dtype=np.str_))
    mix = np.append(np.where(listed, prior[:-1], 0.0), 0.0)
    chosen = tuple(
        c
        for c, character in enumerate(compiled.characters)
        if character.seen in seen and (characters is None or character.id in characters)
    )
    _refuse_nothing(mix, chosen, characters or ())
    return PageQuestion(Kernel(compiled, observer), mix / mix.sum(), chosen)


def _unknown(
    kind: str, names: Sequence[str], known: Sequence[str], where: str = "of the reference"
) -> list[Fault]:
    """List names that are not among those known."""
    faults = []
    for name in names:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            remedy = f"Did you mean {near[0]}?" if near else "Check the spelling."
            faults.append(Fault(_WHERE, kind, f"a {kind} {where}", repr(name), remedy))
    return faults


def _refuse_nothing(mix: Floats, chosen: Sequence[int], asked: Sequence[str]) -> None:
    """Refuse a question that leaves no genus, or no character that can be seen."""
    faults = []
    if not mix.sum():
        faults.append(Fault(_WHERE, "genera", "one genus or more", "none", "Name some genera."))
    if not chosen:
        found = ", ".join(asked) or "none"
        remedy = "Allow characters seen in other ways, or name others."
        faults.append(Fault(_WHERE, "characters", "one that can be seen", found, remedy))
    if faults:
        raise InputError(faults)


def placed(question: PageQuestion, budget: PageBudget) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Find what has a place whatever it is worth.

    Parameters
    ----------
    question : PageQuestion
        What there is to choose from.
    budget : PageBudget
        Names the genera and characters.

    Returns
    -------
    genera, characters : tuple of int
        Genera as positions among those with a share of the mix, and characters as
        indices of the reference.

    Raises
    ------
    InputError
        With every name that cannot be on the sheet, and where no layout has the room.
    """
    compiled = question.compiled
    genera = [compiled.genera[g] for g in np.flatnonzero(question.mix)]
    characters = {compiled.characters[c].id: c for c in question.characters}
    faults = _unknown("genus", budget.genera, genera, "of the region's mix")
    faults += _unknown("character", budget.characters, tuple(characters), "to choose from")
    rows = tuple(sorted({genera.index(name) for name in budget.genera if name in genera}))
    columns = tuple(sorted({characters[id_] for id_ in budget.characters if id_ in characters}))
    shapes = budget.shapes(len(genera), budget.width(characters))
    must = tuple(compiled.characters[c].id for c in columns)
    if not any(budget.holds(shape, len(rows), must) for shape in shapes):
        kind = "columns" if budget.widths else "characters"
        room = " or ".join(f"{down} genera x {across} {kind}" for down, across in shapes)
        found = f"{len(rows)} x {budget.width(must)} that must have a place"
        faults.append(Fault(_WHERE, "pages", room, found, "Add pages, or ask for less."))
    if faults:
        raise InputError(faults)
    return rows, columns


def team_errors(compiled: CompiledReference, team: Sequence[Errors]) -> OwnErrors:
    """Return the errors of a report by any member of a team, each as likely as another.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    team : sequence of Observer or OwnErrors
        One or more.

    Returns
    -------
    OwnErrors
        Means of the members' matrices; sizes by eye spread by what each one varies and
        by what they differ. That one diver errs alike in several characters is lost.

    Raises
    ------
    InputError
        If nobody is in the team.
    """
    if not team:
        remedy = "Name an observer."
        raise InputError([Fault(_WHERE, "team", "one observer or more", "nobody", remedy)])
    states = {
        character.id: np.mean([state_errors(character, one) for one in team], axis=0)
        for character in compiled.characters
        if not character.is_size
    }
    variance, bias = np.array([size_error(compiled, "eye", 1, one) for one in team]).T
    spread = float(np.sqrt(variance.mean() + bias.var()))
    return OwnErrors(states, eye_bias=float(bias.mean()), eye_sd=spread)
