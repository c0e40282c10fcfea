"""Change one colony: one unit of work, after which its line in lists follows its history."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from corallum.actions.unit_of_work import Unit, check_id, unit_of_work
from corallum.errors import ConflictError
from corallum.records.colony import Report
from corallum.records.colony_record import ColonyRecord
from corallum.records.programme import Role
from corallum.store import colonies as store
from corallum.store.history import add_row
from corallum.store.programme import Programme
from corallum.store.schema import entry as entry_table

__all__ = ["change_colony", "write_colony_entry"]


def write_colony_entry(  # noqa: PLR0913  one for each column
    unit: Unit,
    colony: str,
    kind: str,
    subject: str,
    report: Report | str | bool | None,  # noqa: FBT001  what is written, no switch
    *,
    measurement: int | None = None,
    verb: str = "",
) -> int:
    """Write one entry on a colony and return its number."""
    row = {
        "colony": colony,
        "kind": kind,
        "subject": subject,
        "report": store.report_text(report),
        "measurement": measurement,
    }
    return add_row(unit.connection, unit.act, verb or kind, entry_table, row)


def change_colony(
    programme: Programme,
    colony: str,
    by: tuple[datetime, str],
    what: str,
    change: Callable[[Unit, ColonyRecord], object],
    *,
    needed: Role = Role.OBSERVER,
) -> ColonyRecord:
    """Do one thing to a colony that stands, and return its record after it.

    Parameters
    ----------
    programme : Programme
        To write to.
    colony : str
        Id of the colony.
    by : tuple
        The moment, and the id of who acts.
    what : str
        What is done, as in "a reader may not ...".
    change : callable
        Does it, given the unit of work and the record before.
    needed : Role
        Least role that may do it.

    Raises
    ------
    ConflictError
        Where the colony was withdrawn.
    """
    now, person = by
    check_id(colony, "colony")
    with unit_of_work(programme, person, now, needed, what) as unit:
        record = store.load_colony(unit.connection, colony)
        if record.withdrawn:
            message = f"colony {record.number} was withdrawn. Undo that first."
            raise ConflictError(message)
        change(unit, record)
        return store.rewrite_row(unit.connection, colony)
