"""What of an archive of colonies a programme can't take, before and after it was written.

Before: people who are not here, and looks that could not have been written here. After:
tables that say something else than the history beside them, so that one of them was edited.
"""

from __future__ import annotations

import datetime as dt
import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from corallum.actions.unit_of_work import check_line, check_notes
from corallum.errors import Fault, InputError
from corallum.exchange.colony_archive.context import ColonyContext
from corallum.exchange.colony_archive.log import LogEntry
from corallum.exchange.colony_archive.read import ArchivedColonies, ArchivedColony
from corallum.exchange.colony_archive.rows import colony_tables
from corallum.model.compiled import CompiledReference
from corallum.model.evidence import read_colony
from corallum.records.colony import Colony, SizeReport, StateReport
from corallum.reference.genera import REGIONS
from corallum.store import colonies as store
from corallum.store import people
from corallum.store.database import Connection

__all__ = ["NamesHere", "check_colonies", "compare_colonies"]

_MOST_FAULTS = 100
_AGAIN = "Export the archive again."


class NamesHere:
    """People, sites and events of a programme by the names that an archive may have for them.

    Parameters
    ----------
    connection : Connection
        To read them with.
    other : mapping of str to str
        What else they are called there: the name there, and the name here.
    """

    def __init__(self, connection: Connection, other: Mapping[str, str]) -> None:
        self.other = {key.casefold(): name for key, name in other.items()}
        known = people.all_people(connection)
        self.people = {one.name.casefold(): one for one in known}
        times = Counter(one.name.casefold() for one in known)
        self.twice = {name for name, n in times.items() if n > 1}
        self.sites = {one.name.casefold(): one.id for one in people.all_sites(connection)}
        self.events = {one.id for one in people.all_events(connection, None, None)}

    def here(self, name: str) -> str:
        """Return what a name of the archive is called here, for comparing."""
        return self.other.get(name.casefold(), name).casefold()

    def person(self, name: str) -> str:
        """Return the id of a person."""
        return self.people[self.here(name)].id

    def told(self, name: str) -> str:
        """Return the name of a person as it is written here; a program's stays."""
        found = self.people.get(self.here(name))
        return name if found is None else found.name


def check_colonies(
    archive: ArchivedColonies,
    wanted: Sequence[ArchivedColony],
    names: NamesHere,
    about: tuple[CompiledReference, dt.datetime, str],
) -> None:
    """Refuse an archive where anything in it could not have been written here.

    Parameters
    ----------
    archive : ArchivedColonies
        As read.
    wanted : sequence of ArchivedColony
        Those that are not here yet.
    names : NamesHere
        Of the programme.
    about : tuple
        The programme's reference, the moment, and what to call the file.

    Raises
    ------
    InputError
        With the first hundred faults, and how many more there are.
    """
    checks = _Checks(archive, names, about)
    faults = [*checks.unknown_people(wanted), *checks.unknown_sites()]
    for colony in wanted:
        for entry in colony.log:
            faults += checks.entry_faults(colony, entry)
    if faults:
        more = len(faults) - _MOST_FAULTS
        rest = [Fault(about[2], "", "no faults", f"{more} more", "Mend these first.")]
        raise InputError(faults[:_MOST_FAULTS] + (rest if more > 0 else []))


class _Checks:
    """Finds what a programme can't take."""

    def __init__(
        self,
        archive: ArchivedColonies,
        names: NamesHere,
        about: tuple[CompiledReference, dt.datetime, str],
    ) -> None:
        self.archive, self.names = archive, names
        self.compiled, self.now, self.file = about

    def unknown_people(self, wanted: Sequence[ArchivedColony]) -> Iterator[Fault]:
        """Find people who are not here, or of whom there are two, each once."""
        said = {
            name for colony in wanted for entry in colony.log
            for name in (entry.by, *_people_of(entry))
        }  # fmt: skip
        known = ", ".join(one.name for one in self.names.people.values())
        for name in sorted(said):
            here = self.names.here(name)
            if here not in self.names.people:
                remedy = f"Add the person first, or say who {name[:40]!r} is here."
                yield Fault(self.file, "people", f"one of {known}", repr(name)[:40], remedy)
            elif here in self.names.twice:
                remedy = "Give one of them another name."
                yield Fault(self.file, "people", "one of that name", repr(name)[:40], remedy)

    def unknown_sites(self) -> Iterator[Fault]:
        """Find sites of events that are neither here nor in the archive."""
        for site in sorted({site for _, site in self.archive.events.values()} - {""}):
            if not self._is_known("site", site):
                yield Fault(self.file, "events", "a site of the archive", repr(site)[:40], _AGAIN)

    def entry_faults(self, colony: ArchivedColony, entry: LogEntry) -> list[Fault]:
        """Find what is wrong with one entry."""
        place, at = f"{self.file}, {colony.place}", f"entry {entry.number}"
        faults = []
        if entry.at > self.now + dt.timedelta(days=1):
            remedy = "Set the clock, or export the archive again."
            when = entry.at.isoformat()
            faults.append(Fault(place, at, "a moment that has been", when, remedy))
        if entry.table != "entry":
            return faults
        try:
            self._check_said(entry)
        except InputError as error:
            faults += [replace(one, where=place) for one in error.faults]
        except (ValueError, TypeError, KeyError, AttributeError, ArithmeticError):
            found = str(entry.row["report"])[:40]
            faults.append(Fault(place, at, "what may be said of a colony", found, _AGAIN))
        return faults

    def _check_said(self, entry: LogEntry) -> None:
        """Refuse what could not have been said here."""
        said, kind = store.report_of(entry.row["report"]), entry.row["kind"]
        subject = entry.row["subject"]
        if kind == "report":
            if isinstance(said, StateReport | SizeReport):
                _check_shape(said)
                read_colony(self.compiled, Colony("colony", {subject: said}))
            elif said is not None:
                raise ValueError(kind)
        elif kind == "condition":
            read_colony(self.compiled, Colony("colony", conditions=(subject,)))
            if not isinstance(said, bool | None):
                raise ValueError(kind)
        elif said is not None:
            self._check_text(kind, said)

    def _check_text(self, kind: str, said: object) -> None:
        """Refuse a text that could not have been said here."""
        if not isinstance(said, str):
            raise TypeError(kind)
        if kind == "seen_on":
            dt.date.fromisoformat(said)
        elif kind == "name":
            check_line(said, "name")
        elif kind == "note":
            check_notes(said, "note")
        elif not self._is_known(kind, said):
            raise ValueError(said)

    def _is_known(self, kind: str, said: str) -> bool:
        """Whether a region, an event or a site is here, or comes with the archive."""
        if kind == "region":
            return said in REGIONS
        if kind == "event":
            return said in self.archive.events or said in self.names.events
        here = self.names.here(said) in self.names.sites
        return kind != "site" or here or said in self.archive.sites


def _check_shape(said: StateReport | SizeReport) -> None:
    """Refuse a report whose parts are of another kind than they should be."""
    good = isinstance(said.sure, bool)
    if isinstance(said, SizeReport):
        good = good and type(said.n) is int and said.n > 0 and isinstance(said.method, str)
    else:
        good = good and bool(said.states) and all(isinstance(one, str) for one in said.states)
    if not good:
        raise ValueError(said)


def _people_of(entry: LogEntry) -> Iterator[str]:
    """Yield the people that an entry names beside who wrote it."""
    if entry.table == "reading_request" and entry.row["asked_of"] is not None:
        yield str(entry.row["asked_of"])
    if entry.table == "entry" and entry.row["kind"] == "observer":
        said = json.loads(entry.row["report"])
        if isinstance(said, str):
            yield said


def compare_colonies(
    connection: Connection, colonies: Sequence[ArchivedColony], names: NamesHere, file: str
) -> None:
    """Refuse an archive whose tables say something else than the histories beside them.

    Call it once all colonies are written: nothing is kept if it refuses.

    Raises
    ------
    InputError
        With every colony that was edited.
    """
    context = ColonyContext(
        "", {one.id: one.name for one in people.all_people(connection)},
        {one.id: one for one in people.all_sites(connection)},
        {one.id: one for one in people.all_events(connection, None, None)},
    )  # fmt: skip
    faults = []
    for colony in colonies:
        what = _edited(connection, colony, names, context)
        if what:
            expected = f"the same {what} in its history as in the table"
            remedy = "The archive was edited: take it from where it was made again."
            faults.append(Fault(file, colony.place, expected, "others", remedy))
    if faults:
        raise InputError(faults[:_MOST_FAULTS])


def _edited(
    connection: Connection, colony: ArchivedColony, names: NamesHere, context: ColonyContext
) -> str:
    """Return what of a colony differs; empty where nothing does."""
    made = colony_tables(store.load_parts(connection, colony.id), context)
    here = {str(row[1]): (str(row[2]), str(row[8]), str(row[9])) for row in made.identifications}
    there = {
        id_: (words, names.told(by), when) for id_, (words, by, when) in colony.opinions.items()
    }
    looks = {
        str(row[1]): str(row[3]) for row in made.measurements
        if str(row[1]).rpartition(":")[2][:1] in "rc"
    }  # fmt: skip
    if here != there:
        return "identifications"
    return "" if _same_looks(looks, colony.looks) else "looks"


def _same_looks(here: Mapping[str, str], there: Mapping[str, str]) -> bool:
    """Whether looks are the same; numbers however they are written."""
    if here.keys() != there.keys():
        return False
    return all(_plain(value) == _plain(there[id_]) for id_, value in here.items())


def _plain(text: str) -> str | float:
    """Return a number as a number."""
    try:
        return float(text)
    except ValueError:
        return text
