"""What running all evidence again changes, for people."""

from __future__ import annotations

import sys

from rich.console import Console
from rich.table import Table

from corallum.actions.redetermination import Redetermination

__all__ = ["print_changes"]

_MOST_GENERA = 3


def print_changes(found: Redetermination, *, applied: bool) -> None:
    """Print the changes as a table, and a sentence under it."""
    console = Console(highlight=False)
    if found.changes:
        table = Table("colony", "name", "before", "after", box=None, pad_edge=False)
        for one in found.changes:
            above = " (a lead's name stands above it)" if one.overridden else ""
            before = _told(one.old.status, one.old.name, one.old.genera)
            after = _told(one.new.status, one.new.name, one.new.genera) + above
            table.add_row(str(one.number), one.name, before, after)
        console.print(table, markup=False)
    for number, error in found.failed:
        print(f"colony {number}: {error}", file=sys.stderr)
    would = "changed" if applied else "would change"
    print(
        f"{found.rerun} run again, {len(found.changes)} {would}, {found.unchanged} rest on "
        f"nothing that changed, {len(found.failed)} can't be run. "
        f"Reference {found.hash[:12]} ({found.version})."
    )
    if found.rerun and not applied:
        print("Nothing was written. Add --apply to keep the new answers.")


def _told(status: str, name: str, genera: tuple[str | None, ...]) -> str:
    """Say a verdict in one line."""
    named = [genus or "something else" for genus in genera]
    more = f" and {len(named) - _MOST_GENERA} more" if len(named) > _MOST_GENERA else ""
    return f"{name}, {status.replace('_', ' ')}: {', '.join(named[:_MOST_GENERA])}{more}"
