"""Look up the record of a colony, lists of colonies, and who changed what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from corallum.actions.unit_of_work import check_choice, check_id, check_line
from corallum.errors import Fault, InputError
from corallum.records.colony_record import STATUSES, ColonyRecord, HistoryEntry, Page
from corallum.store import colonies as store
from corallum.store.history import newest_entries
from corallum.store.programme import Programme

__all__ = ["ColonyFilter", "get_colony", "history_of", "list_colonies"]

_MOST_ROWS = 200


@dataclass(frozen=True, slots=True)
class ColonyFilter:
    """Which colonies to list, and which page of them, counted from 1."""

    genus: str | None = None
    status: str | None = None
    site: str | None = None
    event: str | None = None
    since: date | None = None
    until: date | None = None
    text: str | None = None
    waits: str | None = None
    page: int = 1
    size: int = 50


def get_colony(programme: Programme, id_: str) -> ColonyRecord:
    """Return the record of a colony as it stands."""
    check_id(id_, "colony")
    with programme.read() as connection:
        return store.load_colony(connection, id_)


def list_colonies(programme: Programme, wanted: ColonyFilter) -> Page:
    """List colonies, those seen last first.

    Raises
    ------
    InputError
        Where a status, page or size is none.
    """
    if wanted.status is not None:
        check_choice(wanted.status, "status", STATUSES)
    if wanted.waits is not None:
        check_choice(wanted.waits, "waits", ("reading", "voucher"))
    for kind in ("site", "event"):
        if getattr(wanted, kind) is not None:
            check_id(getattr(wanted, kind), kind)
    text = check_line(wanted.text or "", "text", empty=True)
    genus = None if wanted.genus is None else check_line(wanted.genus, "genus")
    if not 1 <= wanted.size <= _MOST_ROWS or not 1 <= wanted.page <= 10**6:
        found = f"page {wanted.page} of {wanted.size} rows"[:60]
        expected = f"a page from 1 on, of 1 to {_MOST_ROWS} rows"
        raise InputError([Fault("list", "page", expected, found, "Go back to the first page.")])
    asked = store.Wanted(genus, wanted.status, wanted.site, wanted.event, wanted.since,
                         wanted.until, text, wanted.waits)  # fmt: skip
    skip = (wanted.page - 1) * wanted.size
    with programme.read() as connection:
        total = store.count_rows(connection, asked)
        # A list that is known to be empty need not be looked for.
        most = wanted.size if skip < total else 0
        rows = store.list_rows(connection, asked, skip=skip, most=most) if most else ()
    return Page(rows, total, wanted.page, max(1, -(-total // wanted.size)))


def history_of(programme: Programme, page: int = 1, size: int = 50) -> tuple[HistoryEntry, ...]:
    """Return who changed what in the whole programme, newest first."""
    if not 1 <= size <= _MOST_ROWS or not 1 <= page <= 10**6:
        expected = f"a page from 1 on, of 1 to {_MOST_ROWS} rows"
        found = f"page {page} of {size}"[:60]
        raise InputError([Fault("history", "page", expected, found, "Go back to the first page.")])
    with programme.read() as connection:
        return newest_entries(connection, skip=(page - 1) * size, most=size)
