"""What a person can ask of a reference."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from corallum.errors import UnknownNameError
from corallum.model.assess import Assessment, assess
from corallum.model.compile import compile_reference
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.likelihood import Kernel
from corallum.model.separability import Pair, find_pairs
from corallum.reference.changes import Change, list_changes
from corallum.reference.genera import REGIONS
from corallum.reference.names import ResolvedName, resolve_name
from corallum.reference.reference import Reference, coverage, parse_reference
from corallum.store.reference_folder import read_reference_folder, shipped_reference

__all__ = [
    "Library",
    "Summary",
    "assess_reference",
    "changes_between",
    "find_genus",
    "limits_of",
    "names_of",
    "summarise",
]


class Library:
    """A reference, parsed when asked for and compiled when needed.

    Parameters
    ----------
    folder : Path or None
        A folder of tables; None is the shipped reference.
    settings : mapping of str to float
        Settings to use in place of those of the tables.
    """

    def __init__(
        self, folder: Path | None = None, settings: Mapping[str, float] | None = None
    ) -> None:
        self.folder = folder
        self.settings = dict(settings or {})

    @cached_property
    def reference(self) -> Reference:
        """The tables, checked; raises TableError with every fault."""
        folder = self.folder
        found = parse_reference(
            shipped_reference() if folder is None else read_reference_folder(folder)
        )
        if not self.settings:
            return found
        settings = replace(found.scheme.settings, **self.settings)
        return replace(found, scheme=replace(found.scheme, settings=settings))

    @cached_property
    def compiled(self) -> CompiledReference:
        """The numbers the model runs on."""
        return compile_reference(self.reference)


@dataclass(frozen=True, slots=True)
class Summary:
    """What a sound reference holds."""

    genera: int
    forms: int
    several_forms: tuple[str, ...]
    characters: int
    values: int
    filled: int
    cells: int
    skeleton_filled: int
    skeleton_cells: int
    from_memory: int
    hash: str


def summarise(library: Library) -> Summary:
    """Check a reference and count what is in it."""
    reference = library.reference
    filled, cells = coverage(reference)
    skeleton, skeleton_cells = coverage(reference, ("k",))
    entries = reference.entries
    several = tuple(name for name in entries.genera if len(reference.forms_of(name)) > 1)
    memory = sum(value.source == "memory" for value in entries.values.values())
    return Summary(
        len(entries.genera),
        len(entries.forms),
        several,
        len(reference.scheme.characters),
        len(entries.values),
        filled,
        cells,
        skeleton,
        skeleton_cells,
        memory,
        library.compiled.hash,
    )


def find_genus(library: Library, name: str) -> str:
    """Return the genus of today that a name means.

    Raises
    ------
    UnknownNameError
        Where the name is unknown, or may mean several genera.
    """
    resolved = resolve_name(library.reference, name)
    if resolved.current:
        return resolved.name
    if len(resolved.genera) > 1:
        raise UnknownNameError("genus of today", name, resolved.genera)
    return resolved.genera[0]


def names_of(library: Library, name: str) -> ResolvedName:
    """Resolve an older name."""
    return resolve_name(library.reference, name)


def check_region(region: str | None) -> None:
    """Refuse a region that no reference knows."""
    if region is not None and region not in REGIONS:
        raise UnknownNameError("region", region, REGIONS)


def assess_reference(
    library: Library,
    region: str | None,
    rng: np.random.Generator,
    *,
    per_genus: int,
    seen: tuple[str, ...],
    progress: Callable[[float], None],
) -> Assessment:
    """Assess a reference by simulation."""
    check_region(region)
    kernel = Kernel(library.compiled, Observer.UNKNOWN)
    return assess(kernel, region, rng, per_genus=per_genus, seen=seen, progress=progress)


def limits_of(
    library: Library,
    region: str | None,
    rng: np.random.Generator,
    *,
    draws: int,
    progress: Callable[[float], None],
    among: Collection[str] = (),
) -> tuple[Pair, ...]:
    """Rank the pairs by how poorly the water separates them, of all or of some genera."""
    check_region(region)
    return find_pairs(library.compiled, region, rng, draws=draws, progress=progress, among=among)


def changes_between(old: Library, new: Library) -> tuple[Change, ...]:
    """List what differs between two references."""
    return list_changes(old.reference, new.reference)
