"""From a colony's reports to the codes that the likelihood reads.

Reports on one character through several views (``shared_wall`` and
``corallite_arrangement``) are one act of looking: their sets are intersected.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from corallum.errors import Fault, InputError
from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.records.colony import Colony, Report, SizeReport, StateReport
from corallum.reference.genera import REGIONS
from corallum.reference.scheme import NOT_APPLICABLE, NOT_LOOKED_AT

__all__ = ["ColonyEvidence", "Evidence", "SizeEvidence", "StateEvidence", "batch", "read_colony"]


@dataclass(frozen=True, slots=True)
class ColonyEvidence:
    """Reports of one colony by character index.

    ``states`` maps to (columns reported, sure), ``sizes`` to the report; a size
    said not to apply is in ``states`` with no columns. ``ids`` are the ids under
    which they were reported. ``hidden`` are characters that say nothing at night, in
    a bleached colony and the like: they are neither weighed nor asked for.
    """

    states: Mapping[int, tuple[frozenset[int], bool]]
    sizes: Mapping[int, SizeReport]
    conditions: frozenset[int]
    ids: Mapping[int, tuple[str, ...]]
    hidden: frozenset[int] = frozenset()

    def without(self, character: int) -> ColonyEvidence:
        """Return the evidence with one character not looked at."""
        return replace(
            self,
            states={c: v for c, v in self.states.items() if c != character},
            sizes={c: v for c, v in self.sizes.items() if c != character},
        )

    def with_states(self, character: int, columns: frozenset[int]) -> ColonyEvidence:
        """Return the evidence with one character reported as ``columns``."""
        sure = self.states.get(character, (columns, True))[1]
        return replace(self, states={**self.states, character: (columns, sure)})

    def with_size(self, character: int, report: SizeReport) -> ColonyEvidence:
        """Return the evidence with one size reported otherwise."""
        return replace(self, sizes={**self.sizes, character: report})

    @property
    def characters(self) -> tuple[int, ...]:
        """Indices of the characters reported, in order."""
        return tuple(sorted({*self.states, *self.sizes}))


@dataclass(frozen=True, slots=True)
class StateEvidence:
    """Reports of a character with states over N colonies; code 0 is not looked at.

    ``masks`` (one row for each code) says which columns were reported.
    """

    codes: NDArray[np.int32]
    masks: NDArray[np.bool_]
    sure: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class SizeEvidence:
    """Reports of a size over N colonies; ``log_value`` is nan where not measured.

    ``inapplicable`` marks a size that was said not to apply.
    """

    log_value: Floats
    n: Floats
    method: tuple[str, ...]
    sure: NDArray[np.bool_]
    inapplicable: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Reports of N colonies, by character index, with the odds of each condition."""

    size: int
    states: Mapping[int, StateEvidence]
    sizes: Mapping[int, SizeEvidence]
    conditions: Floats


def batch(compiled: CompiledReference, colonies: Sequence[ColonyEvidence]) -> Evidence:
    """Put the evidence of N colonies side by side."""
    reported = {c for colony in colonies for c in colony.characters}
    states, sizes = {}, {}
    for index in sorted(reported):
        if compiled.characters[index].is_size:
            sizes[index] = _batch_sizes(colonies, index)
        else:
            width = len(compiled.characters[index].states) + 1
            states[index] = _batch_states(colonies, index, width)
    conditions = np.array([condition_odds(compiled, c.conditions) for c in colonies])
    return Evidence(
        len(colonies),
        states,
        sizes,
        conditions.reshape(len(colonies), len(compiled.conditions) + 1),
    )


def condition_odds(compiled: CompiledReference, stated: Iterable[int]) -> Floats:
    """P(condition acts), none first, given those that the observer stated."""
    stated = list(stated)
    count = len(compiled.conditions)
    odds = np.zeros(count + 1)
    if stated:
        odds[0] = 1 - compiled.settings.condition_stated
        odds[stated] = compiled.settings.condition_stated / len(stated)
        return odds
    odds[0] = compiled.settings.condition_none if count else 1.0
    odds[1:] = (1 - odds[0]) / max(count, 1)
    return odds


def _batch_states(colonies: Sequence[ColonyEvidence], index: int, width: int) -> StateEvidence:
    """Codes for each distinct report of one character."""
    table: dict[tuple[frozenset[int], bool], int] = {(frozenset(), True): 0}
    missing = (frozenset[int](), True)
    codes = np.array(
        [table.setdefault(colony.states.get(index, missing), len(table)) for colony in colonies],
        dtype=np.int32,
    )
    masks = np.zeros((len(table), width), dtype=np.bool_)
    for (columns, _), code in table.items():
        masks[code, list(columns)] = True
    return StateEvidence(codes, masks, np.array([sure for _, sure in table]))


def _batch_sizes(colonies: Sequence[ColonyEvidence], index: int) -> SizeEvidence:
    """Sizes of one character side by side."""
    nothing = SizeReport(math.nan)
    reports = [colony.sizes.get(index, nothing) for colony in colonies]
    return SizeEvidence(
        np.log([report.value for report in reports]),
        np.array([report.n for report in reports], dtype=np.float64),
        tuple(report.method for report in reports),
        np.array([report.sure for report in reports]),
        np.array([index in colony.states for colony in colonies]),
    )


def read_colony(compiled: CompiledReference, colony: Colony) -> ColonyEvidence:
    """Check a colony against the scheme and code its reports.

    Raises
    ------
    InputError
        With every unknown id, state, method, region or condition, and every
        size out of range, at once.
    """
    reader = _Reader(compiled, colony.id)
    if colony.region is not None and colony.region not in REGIONS:
        reader.fault("region", f"one of {', '.join(REGIONS)}", repr(colony.region))
    conditions: set[int] = set()
    hidden: set[int] = set()
    for name in colony.conditions:
        if name in compiled.conditions:
            conditions.add(compiled.conditions.index(name) + 1)
        elif name in compiled.hidden:
            hidden.update(compiled.hidden[name])
        else:
            known = ", ".join((*compiled.conditions, *compiled.hidden))
            reader.fault("conditions", f"some of {known}", repr(name))
    for id_, report in colony.observations.items():
        reader.report(id_, report)
    if reader.faults:
        raise InputError(reader.faults)
    return ColonyEvidence(
        {c: v for c, v in reader.joined_states().items() if c not in hidden},
        {c: v for c, v in reader.sizes.items() if c not in hidden},
        frozenset(conditions),
        {index: tuple(ids) for index, ids in reader.ids.items()},
        frozenset(hidden),
    )


class _Reader:
    """Collects the reports of one colony and their faults."""

    def __init__(self, compiled: CompiledReference, where: str) -> None:
        self.compiled = compiled
        self.where = where
        self.faults: list[Fault] = []
        self.states: dict[int, list[tuple[frozenset[int], bool]]] = {}
        self.sizes: dict[int, SizeReport] = {}
        self.ids: dict[int, list[str]] = {}

    def fault(self, place: str, expected: str, found: str, remedy: str = "Mend it.") -> None:
        """Keep one fault."""
        self.faults.append(Fault(f"colony {self.where}", place, expected, found, remedy))

    def report(self, id_: str, report: Report) -> None:
        """Take one report, by the id of a character or of a view."""
        views = [view for view in self.compiled.views if view.id == id_]
        index = self.compiled.character_index.get(id_, views[0].character if views else -1)
        if index < 0:
            known = [*self.compiled.character_index, *{view.id for view in self.compiled.views}]
            near = difflib.get_close_matches(id_, known, n=1)
            remedy = f"Did you mean {near[0]}?" if near else "See corallum reference show."
            self.fault("observations", "a character of the scheme", repr(id_), remedy)
            return
        character = self.compiled.characters[index]
        self.ids.setdefault(index, []).append(id_)
        if isinstance(report, SizeReport):
            self._size(index, character, report)
        elif character.is_size:
            self._no_size(index, character, report)
        else:
            self._states(id_, index, character, report)

    def _size(self, index: int, character: CompiledCharacter, report: SizeReport) -> None:
        """Take a size, if it is plausible and its method known."""
        if not character.is_size:
            self.fault(character.id, f"one of {', '.join(character.states)}", f"{report.value:g}")
            return
        if report.method not in self.compiled.methods:
            methods = ", ".join(self.compiled.methods)
            self.fault(character.id, f"a method out of {methods}", repr(report.method))
        if not 1 <= report.n <= 10_000:
            self.fault(character.id, "n from 1 to 10000", str(report.n))
        if not character.least <= report.value <= character.most:
            expected = f"a size from {character.least:g} to {character.most:g} {character.unit}"
            self.fault(character.id, expected, f"{report.value:g}", "Check the unit.")
        self.sizes[index] = report

    def _no_size(self, index: int, character: CompiledCharacter, report: StateReport) -> None:
        """Take words where a size is asked for: only that it does not apply."""
        if report.states == (NOT_APPLICABLE,) and character.conditional:
            self.states[index] = [(frozenset(), report.sure)]
        elif report.states != (NOT_LOOKED_AT,):
            self.fault(character.id, f"a number ({character.unit})", repr("|".join(report.states)))

    def _states(
        self, id_: str, index: int, character: CompiledCharacter, report: StateReport
    ) -> None:
        """Take a state or a set of states; a set of all says nothing."""
        allowed = state_columns(self.compiled, id_)
        columns: set[int] = set()
        for state in report.states:
            if state == NOT_LOOKED_AT:
                return
            if state not in allowed:
                near = difflib.get_close_matches(state, list(allowed), n=1)
                remedy = f"Did you mean {near[0]}?" if near else "Use one of these words."
                self.fault(id_, f"one of {', '.join(allowed)}", repr(state), remedy)
                return
            columns.update(allowed[state])
        proper = set(range(len(character.states)))
        if columns and not proper <= columns:
            self.states.setdefault(index, []).append((frozenset(columns), report.sure))

    def joined_states(self) -> dict[int, tuple[frozenset[int], bool]]:
        """Join the views of each character: what all allow, or if nothing, what any says."""
        joined = {}
        for index, reports in self.states.items():
            sets = [columns for columns, _ in reports]
            both = frozenset.intersection(*sets)
            joined[index] = (both or frozenset.union(*sets), all(sure for _, sure in reports))
        return joined


def state_columns(compiled: CompiledReference, id_: str) -> dict[str, tuple[int, ...]]:
    """Columns of the tables for each state that can be reported under an id."""
    index = compiled.character_index.get(id_)
    columns: dict[str, tuple[int, ...]] = {}
    if index is not None:
        character = compiled.characters[index]
        columns = {state: (i,) for i, state in enumerate(character.states)}
        if character.conditional:
            columns[NOT_APPLICABLE] = (len(character.states),)
    columns.update({view.state: view.columns for view in compiled.views if view.id == id_})
    return columns
