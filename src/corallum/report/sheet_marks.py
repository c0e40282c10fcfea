"""What a genus shows of a character, as a diver can read it from a sheet.

Marks come from the reference's own words and ranges, of all forms of a genus together.
What sets two genera apart is weighed with the errors of whoever carries the sheet.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.cluster.hierarchy import leaves_list, linkage
from scipy.special import ndtr

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.model.errors import Errors, size_error, state_errors

__all__ = [
    "DASH", "FULL", "NONE", "RING", "UNKNOWN", "apart", "like_beside_like", "mark_states",
    "said_range", "size_range", "states_shown",
]  # fmt: skip

FULL, RING, NONE, DASH, UNKNOWN = "full", "ring", "", "dash", "unknown"
"""Always or usually; often or sometimes; rarely or never; does not apply; not known."""

# Between "often" (.4) and "usually" (.75), and between "rarely" (.03) and "sometimes" (.15).
_USUALLY, _SOMETIMES = 0.55, 0.08
_BINS = 60


def _forms(compiled: CompiledReference, genus: int) -> slice:
    """Forms of one genus."""
    start, end = compiled.genus_starts[genus : genus + 2]
    return slice(int(start), int(end))


def _applies(compiled: CompiledReference, genus: int, character: CompiledCharacter) -> float:
    """Share of a genus' colonies to which a character applies."""
    forms = _forms(compiled, genus)
    return float(compiled.form_weight[forms] @ character.applies[forms])


def _weights(compiled: CompiledReference, genus: int, character: CompiledCharacter) -> Floats:
    """Shares of the forms of which the reference says something, where it applies."""
    forms = _forms(compiled, genus)
    weights: Floats = (
        compiled.form_weight[forms] * character.applies[forms] * character.known[forms]
    )
    return weights


def mark_states(compiled: CompiledReference, genus: int, c: int) -> tuple[str, ...]:
    """Mark the states of a character for a genus.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    genus, c : int
        Indices of the genus and of a character with states.

    Returns
    -------
    tuple of str
        A mark for each state; all ``DASH`` or all ``UNKNOWN`` where there is nothing to mark.
    """
    character = compiled.characters[c]
    size = len(character.states)
    if _applies(compiled, genus, character) < _SOMETIMES:
        return (DASH,) * size
    weights = _weights(compiled, genus, character)
    shares = weights @ character.true[_forms(compiled, genus), :size]
    if not shares.sum():
        return (UNKNOWN,) * size
    shares /= shares.sum()
    return tuple(
        FULL if share >= _USUALLY else RING if share >= _SOMETIMES else NONE
        for share in shares.tolist()
    )


def states_shown(compiled: CompiledReference, genera: Sequence[int], c: int) -> tuple[int, ...]:
    """States of a character that a sheet of some genera must draw.

    Of what is absent or present only the presence is drawn. Nothing for a size.
    """
    character = compiled.characters[c]
    if character.states == ("absent", "present"):
        return (1,)
    marks = [mark_states(compiled, genus, c) for genus in genera]
    return tuple(
        s for s in range(len(character.states)) if any(one[s] in (FULL, RING) for one in marks)
    )


def size_range(compiled: CompiledReference, genus: int, c: int) -> tuple[float, float] | str:
    """Return the range that holds 95 % of a genus' colonies, of all its forms together.

    Returns
    -------
    (float, float), or DASH, or UNKNOWN
        Low and high in the unit of the character.
    """
    character = compiled.characters[c]
    if _applies(compiled, genus, character) < _SOMETIMES:
        return DASH
    weights = _weights(compiled, genus, character)
    if not weights.sum():
        return UNKNOWN
    forms = _forms(compiled, genus)
    mean, sd = character.log_mean[forms], character.log_sd[forms]
    ends = (_quantile(weights / weights.sum(), mean, sd, p) for p in (0.025, 0.975))
    low, high = ends
    return float(np.exp(low)), float(np.exp(high))


def _quantile(weights: Floats, mean: Floats, sd: Floats, p: float) -> float:
    """Return the quantile of a mixture of normals, by halving."""
    low, high = float((mean - 8 * sd).min()), float((mean + 8 * sd).max())
    for _ in range(60):
        middle = (low + high) / 2
        below = float(weights @ ndtr((middle - mean) / sd))
        low, high = (middle, high) if below < p else (low, middle)
    return (low + high) / 2


def said_range(low: float, high: float) -> str:
    """Write a range, without a unit, as finely as a diver can judge."""
    return f"{_figure(low)}–{_figure(high)}"


def _figure(value: float) -> str:
    """Round to two digits that count, and to tenths; below a tenth to one digit."""
    if value >= 10:
        return f"{round(value, 1 - int(np.floor(np.log10(value)))):.0f}"
    return f"{value:.1f}".removesuffix(".0") if value >= 0.095 else f"{value:.1g}"


def _reported(
    compiled: CompiledReference, observer: Errors, genera: Sequence[int], c: int
) -> Floats:
    """P(report | genus) of one character, shape (genera, reports)."""
    character = compiled.characters[c]
    weight = np.zeros((len(genera), compiled.n_forms))
    for row, genus in enumerate(genera):
        forms = _forms(compiled, genus)
        weight[row, forms] = compiled.form_weight[forms]
    if not character.is_size:
        found: Floats = weight @ character.true @ state_errors(character, observer)
        return found
    variance, bias = size_error(compiled, "eye", 3, observer)
    sd = np.sqrt(character.log_sd**2 + variance)
    edges = np.linspace(np.log(character.least), np.log(character.most), _BINS + 1)
    edges[0], edges[-1] = -np.inf, np.inf
    mass = np.diff(ndtr((edges[None] - character.log_mean[:, None] - bias) / sd[:, None]))
    # Where the reference says nothing a size tells nothing: the base rate.
    base = character.mixture @ mass
    mass = np.where(character.known[:, None], mass, base)
    applies = character.applies[:, None]
    return np.hstack([weight @ (applies * mass), weight @ (1 - applies)])


def apart(
    compiled: CompiledReference, observer: Errors, genera: Sequence[int], columns: Sequence[int]
) -> Floats:
    """Say how far each character sets each two genera apart.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    observer : Observer or OwnErrors
        Whose errors the reports have.
    genera, columns : sequence of int
        Indices of genera and characters.

    Returns
    -------
    ndarray, shape (columns, genera, genera)
        Half the sum of the differences of P(report): 0 where they look alike, 1 where no
        report is possible for both.
    """
    found = np.zeros((len(columns), len(genera), len(genera)))
    for i, c in enumerate(columns):
        shares = _reported(compiled, observer, genera, c)
        found[i] = np.abs(shares[:, None] - shares[None]).sum(axis=2) / 2
    return found


def like_beside_like(apart_: Floats, first: int) -> tuple[int, ...]:
    """Order genera so that those which share marks stand together.

    Parameters
    ----------
    apart_ : ndarray, shape (genera, genera)
        How far they are apart in all.
    first : int
        One of them, which shall stand in the upper half.

    Returns
    -------
    tuple of int
        Every genus once: leaves of an average linkage, turned so that neighbours are as
        near as they can be (Bar-Joseph, Gifford and Jaakkola 2001, Bioinformatics 17:S22).
    """
    n = len(apart_)
    if n < 3:
        return tuple(range(n))
    upper = apart_[np.triu_indices(n, 1)]
    order = leaves_list(linkage(upper, "average", optimal_ordering=True)).tolist()
    return tuple(order if order.index(first) < n / 2 else order[::-1])
