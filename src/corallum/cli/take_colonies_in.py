"""Colonies out of an archive: taken in by ``corallum sheet --from-archive``."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from corallum.cli.programme import lead_of
from corallum.cli.progress import progress_bar
from corallum.errors import Fault, InputError

if TYPE_CHECKING:
    from corallum.actions.import_colonies import ColoniesImported
    from corallum.store.programme import Programme

__all__ = ["take_colonies_in"]


def take_colonies_in(
    programme: Programme | None,
    path: Path,
    names: dict[str, str],
    as_: str | None,
    *,
    as_json: bool,
) -> None:
    """Write the colonies of an archive into a programme, and say what was written."""
    from corallum.actions.import_colonies import (  # noqa: PLC0415  slow to start
        ImportColonies,
        import_colonies,
    )

    if programme is None:
        fault = Fault("sheet", "", "a programme to write into", "none", "Name its folder.")
        raise InputError([fault])
    by = (datetime.now().astimezone(), np.random.default_rng(), lead_of(programme, as_))
    with progress_bar("taking colonies in") as progress:
        found = import_colonies(programme, ImportColonies(path, names), *by, progress)
    if as_json:
        print(json.dumps(_object(found)))
        return
    print(f"{path}: {len(found.new)} new, {len(found.known)} known and skipped, "
          f"{len(found.other)} left alone.")  # fmt: skip
    if found.other:
        numbers = ", ".join(map(str, found.other))
        print(f"Left alone, as they have another history here: colonies no. {numbers}.")
    if found.new_sites:
        print(f"Sites added: {', '.join(found.new_sites)}.")
    if found.photos_left_out:
        print(f"{found.photos_left_out} photos were left out, with the sizes measured on them: "
              "their originals are not in the archive.")  # fmt: skip


def _object(found: ColoniesImported) -> dict[str, object]:
    """Return what was written, colonies as numbers."""
    return {
        "new": [one.number for one in found.new],
        "known": list(found.known),
        "left_alone": list(found.other),
        "new_sites": list(found.new_sites),
        "photos_left_out": found.photos_left_out,
    }
