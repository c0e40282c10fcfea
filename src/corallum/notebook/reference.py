"""A reference to ask: which genus, how sure, where it fails."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from corallum.actions import accounts
from corallum.actions import references as actions
from corallum.actions.determinations import determine_colonies, open_colonies
from corallum.errors import Fault, InputError
from corallum.exchange.colonies import BadColony, parse_colony, read_csv
from corallum.model.answer import Determiner
from corallum.model.errors import Observer
from corallum.model.separability import Pair
from corallum.notebook.answers import Answers
from corallum.notebook.asked import Asked
from corallum.notebook.frames import Frame, as_csv, is_missing, records_of
from corallum.notebook.listing import Field, Listing, Shown, chance, listing, words
from corallum.notebook.weak_spots import Assessment, Comparison, Limits
from corallum.records.colony import Colony
from corallum.reference.genera import REGIONS

if TYPE_CHECKING:
    from corallum.notebook.observers import ObserverErrors

__all__ = ["Reference", "load_reference"]

_WHERE = "colonies"
_MOST_MB = 64
_PROGRAMME = "programme.toml"
_OBSERVERS = tuple(one.name.lower() for one in Observer if one is not Observer.EXACT)
_SEEN = {"w": "in the water", "l": "lens or close photo", "k": "cleaned skeleton"}


def load_reference(folder: str | Path | None = None) -> Reference:
    """Load a reference.

    Parameters
    ----------
    folder : str, Path or None
        A folder of tables, or that of a programme, whose own copy and thresholds are taken;
        None is the reference that comes with Corallum.

    Returns
    -------
    Reference
        Checked, ready to be asked.

    Raises
    ------
    TableError
        With every fault of the tables.
    InputError
        Where the programme's settings have faults.
    """
    if folder is None:
        return Reference(actions.Library())
    path = Path(folder)
    if not (path / _PROGRAMME).is_file():
        return Reference(actions.Library(path))
    from corallum.notebook.programme import open_programme  # noqa: PLC0415  needs a database

    with open_programme(path) as programme:
        return programme.reference


class Reference(Shown):
    """The genera and characters that colonies are named by, and what can be asked of them.

    Parameters
    ----------
    library : Library
        Its tables, as ``corallum.actions.references`` reads them.
    """

    def __init__(self, library: actions.Library) -> None:
        self.library = library
        self.summary = actions.summarise(library)
        self._determiners: dict[Observer, Determiner] = {}
        self._pairs: dict[tuple[str | None, int, int], tuple[Pair, ...]] = {}

    @cached_property
    def genera(self) -> tuple[str, ...]:
        """Names of all genera."""
        return tuple(self.library.reference.entries.genera)

    @property
    def lead(self) -> str:
        """How much it holds."""
        found = self.summary
        return (
            f"A reference of {found.genera} genera in {found.forms} forms and {found.characters} "
            f"characters; {chance(found.filled / found.cells)} of its cells are filled."
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What its values come from, and its hash."""
        found = self.summary
        memory = f"{found.from_memory} of {found.values} values come from memory."
        return memory, f"Hash {found.hash[:12]}."

    def listings(self) -> Sequence[Listing]:
        """Return how many genera each region lists."""
        genera = self.library.reference.entries.genera.values()
        counts = [(region, sum(region in one.regions for one in genera)) for region in REGIONS]
        fields = (
            Field("region", {"region": lambda r: r[0]}, lambda r: words(r[0])),
            Field("genera", {"genera": lambda r: r[1]}, lambda r: str(r[1]), is_number=True),
        )
        return [listing("Genera by region", fields, counts)]

    def characters(self) -> Listing:
        """List the characters that can be reported: ids of columns, and what a cell may hold.

        Returns
        -------
        Listing
            In the order of the scheme.
        """
        scheme = self.library.reference.scheme
        fields = (
            Field("column", {"id": lambda c: c.id}, lambda c: c.id),
            Field("question", {"question": lambda c: c.question}, lambda c: c.question),
            Field("states, or unit", {"states": lambda c: list(scheme.report_states(c.id)),
                                      "unit": lambda c: c.unit or None},
                  lambda c: c.unit or ", ".join(scheme.report_states(c.id))),
            Field("seen", {"seen": lambda c: c.seen, "seconds": lambda c: c.seconds},
                  lambda c: _SEEN[c.seen]),
        )  # fmt: skip
        return listing("Characters", fields, scheme.characters.values())

    def determine(self, colonies: Frame, observer_errors: str = "unknown") -> Answers:
        """Name colonies from what was seen of them.

        Parameters
        ----------
        colonies : data frame, rows, or path
            A data frame with columns as in the CSV form; a list of such rows, or of colonies as
            in the JSON form; or the path of a file of colonies.
        observer_errors : str
            Errors of the observers: unknown, trained or new.

        Returns
        -------
        Answers
            In the order of the table. A colony that can't be read stands apart with its faults.

        Raises
        ------
        InputError
            Where no colony at all can be read, with every fault.
        """
        asked = Asked("determine")
        asked.one_of("observer_errors", observer_errors, _OBSERVERS)
        asked.done()
        observer = Observer[observer_errors.upper()]
        if observer not in self._determiners:
            self._determiners[observer] = Determiner(self.library.compiled, observer)
        found = determine_colonies(self._determiners[observer], _colonies(colonies))
        return Answers(list(found))

    def assess(
        self, region: str | None = None, colonies: int = 50, seed: int = 1, *, lens: bool = False
    ) -> Assessment:
        """Say by simulation where the reference fails, and what its parts are worth.

        Parameters
        ----------
        region : str or None
            Such as ``red_sea``; None is anywhere.
        colonies : int
            Simulated of each genus.
        seed : int
            Of the simulation: the same seed gives the same figures.
        lens : bool
            Whether what a lens shows is reported too.

        Returns
        -------
        Assessment
            Weak spots first.

        Raises
        ------
        InputError
            With every fault of what was asked.
        """
        asked = Asked("assess")
        asked.one_of("region", region, (None, *REGIONS))
        asked.whole("colonies", colonies, 2, 100_000)
        asked.whole("seed", seed, 0, 2**63)
        asked.done()
        found = actions.assess_reference(
            self.library, region, np.random.default_rng(seed), per_genus=colonies,
            seen=("w", "l") if lens else ("w",), progress=lambda _: None,
        )  # fmt: skip
        return Assessment(found, seed)

    def limits(
        self, *genera: str, region: str | None = None, below: float | None = None,
        colonies: int = 200, seed: int = 1,
    ) -> Limits:  # fmt: skip
        """List pairs that the water can't separate, or say it of two genera.

        Parameters
        ----------
        *genera : str
            Two genera, of today or older; none lists the pairs of the region.
        region : str or None
            Whose genera are compared; None is all.
        below : float or None
            List pairs told apart less often than this, 0.5 to 1; None is the reference's
            threshold.
        colonies : int
            Simulated of each genus.
        seed : int
            Of the simulation.

        Returns
        -------
        Limits
            The least separable first.

        Raises
        ------
        InputError
            With every fault of what was asked; also where one of the two is not of the region.
        """
        asked = Asked("limits")
        asked.one_of("region", region, (None, *REGIONS))
        asked.number("below", below, 0.5, 1.0)
        asked.whole("colonies", colonies, 10, 100_000)
        asked.whole("seed", seed, 0, 2**63)
        wanted = None
        if genera:
            wanted = self._two("limits", genera, asked)
        asked.done()
        pairs = self._compared(region, colonies, seed)
        if wanted is None:
            threshold = self.library.compiled.settings.separable if below is None else below
            listed = tuple(one for one in pairs if one.in_water < threshold)
            return Limits(listed, len(pairs), threshold)
        found = tuple(one for one in pairs if {one.a, one.b} == set(wanted))
        if not found:
            expected = f"two genera of {words(region or 'the reference')}"
            told = " and ".join(wanted)
            raise InputError([Fault("limits", "", expected, told, "Leave the region out.")])
        return Limits(found, len(pairs), None)

    def compare(self, a: str, b: str) -> Comparison:
        """Put two genera side by side, the deciding characters first.

        Parameters
        ----------
        a, b : str
            Genera, by names of today or older.

        Returns
        -------
        Comparison
            What the reference says of both.

        Raises
        ------
        InputError
            Where a name is not known, with the nearest that are.
        """
        return Comparison(accounts.compare_genera(self.library, *self._two("compare", (a, b))))

    def observer_errors(self, *files: str | Path, region: str | None = None) -> ObserverErrors:
        """Tell what each observer errs on, from practice sets and the answers to them.

        Parameters
        ----------
        *files : str or Path
            A practice set and the CSV of answers to it, then the next set and its answers.
        region : str or None
            Whose mix of genera counts; None is that of the first set.

        Returns
        -------
        ObserverErrors
            By observer.

        Raises
        ------
        InputError
            Where a set comes without answers, or with every fault of a file.
        """
        asked = Asked("observer_errors")
        asked.one_of("region", region, (None, *REGIONS))
        asked.done()
        from corallum.actions.observer_files import errors_of_files  # noqa: PLC0415  slow to start
        from corallum.notebook.observers import ObserverErrors  # noqa: PLC0415  beside it

        paths = [str(one) for one in files]
        found = errors_of_files(self.library, paths, region, io.BytesIO(), _MOST_MB)
        return ObserverErrors(found)

    def _two(self, where: str, names: Sequence[str], asked: Asked | None = None) -> tuple[str, str]:
        """Return two genera of today, and every fault of them at once."""
        asked = asked or Asked(where)
        found = []
        for name in names:
            with asked.names():
                found.append(actions.find_genus(self.library, str(name)))
        if not asked.faults and len(set(found)) != 2:
            told = ", ".join(found)
            asked.faults.append(Fault(where, "", "two genera", told, "Name two that differ."))
        asked.done()
        return found[0], found[1]

    def _compared(self, region: str | None, colonies: int, seed: int) -> tuple[Pair, ...]:
        """Compare all pairs of a region, once for each seed."""
        key = (region, colonies, seed)
        if key not in self._pairs:
            self._pairs[key] = actions.limits_of(
                self.library, region, np.random.default_rng(seed), draws=colonies,
                progress=lambda _: None,
            )  # fmt: skip
        return self._pairs[key]


def _colonies(given: Frame) -> Iterable[Colony | BadColony]:
    """Read colonies from a data frame, from rows, or from a file."""
    if isinstance(given, str | Path):
        return open_colonies(str(given), io.BytesIO(), _MOST_MB)
    rows = records_of(given, _WHERE)
    if any("observations" in row for row in rows):
        return [
            parse_colony(_as_json(row), _WHERE, f"row {number}")
            for number, row in enumerate(rows, start=1)
        ]
    return read_csv(io.StringIO(as_csv(rows, _WHERE), newline=""), _WHERE)


def _as_json(row: Mapping[str, object]) -> dict[str, object]:
    """Return a row without the cells that a data frame fills where there is nothing."""
    return {key: value for key, value in row.items() if not is_missing(value)}
