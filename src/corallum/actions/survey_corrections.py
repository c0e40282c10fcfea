"""How a survey's names can be corrected, or why they can't."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from corallum.actions.observer_errors import confusions_of, learn_observers
from corallum.actions.people import list_people
from corallum.actions.programme_reference import programme_library
from corallum.errors import CorallumError
from corallum.estimate.by_errors import ByErrors, learn_names
from corallum.estimate.convergence import NotConvergedError
from corallum.estimate.estimate import Floats
from corallum.estimate.survey_figures import ByReadings, readings_lacking
from corallum.estimate.survey_table import SurveyTable
from corallum.store.programme import Programme

__all__ = ["ErrorsFound", "errors_correction", "readings_correction"]

Progress = Callable[[float], None]
_FEWEST, _LEAST = 2, 1e-6


@dataclass(frozen=True, slots=True)
class ErrorsFound:
    """A correction by observers' errors, or why there is none; notes either way."""

    correction: ByErrors | None
    why: str = ""
    notes: tuple[str, ...] = ()


def readings_correction(table: SurveyTable, seed: int) -> tuple[ByReadings | None, str]:
    """Return the correction by second readings, or why there is none."""
    if not table.n_read_again:
        return None, (
            "This survey has no second readings, so its own records can't correct it. Draw a "
            "share and have it read by somebody else."
        )
    lacking = readings_lacking(table)
    read = table.readings.sum(axis=(0, 2))
    if lacking and read[np.isin(table.labels, lacking)].sum() < _FEWEST:
        names = ", ".join(lacking[:8])
        return None, f"Too few second readings of what was said to be {names}: 2 at least."
    return ByReadings(table, seed), ""


def errors_correction(
    programme: Programme, table: SurveyTable, seed: int, progress: Progress
) -> ErrorsFound:
    """Return the correction by observers' errors and second readings together."""
    genera = [name for name, one in zip(table.labels, table.is_genus, strict=True) if one]
    if len(genera) < _FEWEST:
        return ErrorsFound(None, "Fewer than two genera were met: nothing to mistake for another.")
    region = programme.settings.regions[0]
    compiled = programme_library(programme).compiled
    unknown = [name for name in genera if name not in compiled.genera]
    if unknown:
        return ErrorsFound(None, f"The reference no longer holds {', '.join(unknown)}.")
    index = [compiled.genera.index(name) for name in genera]
    members = confusions_of(programme, region, table.observers)
    rows = np.array([_named(one.counts, index) for one in members])
    known = learn_observers(programme, region)
    notes = _unpractised(programme, [one for one in table.observers if one not in known])
    seen = np.array([one.seen[index].sum(axis=1) for one in members]).sum(axis=0)
    never = [name for name, n in zip(genera, seen, strict=True) if n == 0]
    if never:
        few = ", ".join(never[:8]) + (" and others" if len(never) > 8 else "")
        notes.append(f"Nobody practised {few}: the model's own mix-ups stand for theirs.")
    try:
        found = learn_names(table, rows, np.random.default_rng([seed, 2]), progress=progress)
    except NotConvergedError as error:
        numbers = (int(name.rpartition(" ")[2]) for name in error.names)
        names = ", ".join(genera[i] for i in numbers)
        why = (
            f"Not reported: what the errors say of {names} did not settle. Have more records of "
            "these read again, or let the observers practise them."
        )
        return ErrorsFound(None, why, tuple(notes))
    except CorallumError as error:
        return ErrorsFound(None, f"Not reported: {error}", tuple(notes))
    return ErrorsFound(found, "", tuple(notes))


def _named(counts: Floats, index: list[int]) -> Floats:
    """Rows of the genera met; whatever else may be said is one last column."""
    inner = counts[np.ix_(index, index)]
    rest = counts[index].sum(axis=1) - inner.sum(axis=1)
    return np.asarray(np.maximum(np.column_stack([inner, rest]), _LEAST))


def _unpractised(programme: Programme, people: list[str]) -> list[str]:
    """Say which observers' errors are not known."""
    if not people:
        return []
    names = {one.id: one.name for one in list_people(programme)}
    told = ", ".join(names[one] for one in people)
    return [f"Nothing is known of the errors of {told}: they count as new members of the group."]
