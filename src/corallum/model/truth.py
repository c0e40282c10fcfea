"""True colonies, character by character, and what an observer reports of them.

:mod:`corallum.model.simulate` draws reports at once. Practice and the study of
observers also need what was there to be seen, because only truth beside report
shows an error.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import CompiledCharacter, CompiledReference, Floats
from corallum.model.errors import Errors, Observer, size_error, state_errors
from corallum.model.evidence import Evidence, SizeEvidence, StateEvidence, condition_odds

__all__ = ["TrueColonies", "draw_colonies", "report_colonies"]

Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class TrueColonies:
    """N colonies as they are.

    Attributes
    ----------
    form, genus : ndarray of int, shape (N,)
        Indices; no colony is "something else".
    condition : ndarray of int, shape (N,)
        What acts on each; 0 is none.
    states : mapping of int to ndarray of int, shape (N,)
        Column of the true state by character, the last being "not applicable".
    log_sizes : mapping of int to ndarray, shape (N,)
        Log of each true size; nan where the character does not apply or the
        reference does not say.
    """

    form: Integers
    genus: Integers
    condition: Integers
    states: Mapping[int, Integers]
    log_sizes: Mapping[int, Floats]


def draw_colonies(
    compiled: CompiledReference,
    form: Integers,
    rng: np.random.Generator,
    condition: Integers | None = None,
) -> TrueColonies:
    """Draw the true look of colonies of given forms.

    Parameters
    ----------
    form : ndarray of int, shape (N,)
        Forms of the reference.
    rng : numpy.random.Generator
        Draws states by their shares and sizes by their log-normals.
    condition : ndarray of int or None, shape (N,)
        What acts on each; None draws it where nothing is stated.
    """
    n = len(form)
    if condition is None:
        odds = condition_odds(compiled, ())
        condition = rng.choice(len(odds), size=n, p=odds)
    states, sizes = {}, {}
    for c, character in enumerate(compiled.characters):
        if character.is_size:
            sizes[c] = _true_sizes(character, form, condition, rng)
        else:
            states[c] = _true_states(character, form, condition, rng)
    return TrueColonies(form, compiled.form_genus[form], condition, states, sizes)


def _true_states(
    character: CompiledCharacter, form: Integers, condition: Integers, rng: np.random.Generator
) -> Integers:
    """Draw the state of one character, moved by the condition that acts."""
    shares = character.true[form]
    if character.flips.size:
        shares = np.einsum("ns,nst->nt", shares, character.flips[condition])
    return _draw(shares, rng)


def _true_sizes(
    character: CompiledCharacter, form: Integers, condition: Integers, rng: np.random.Generator
) -> Floats:
    """Draw the log of one size."""
    log: Floats = rng.normal(character.log_mean[form], character.log_sd[form])
    if character.log_shift.size:
        log = log + character.log_shift[condition]
    log = np.clip(log, np.log(character.least), np.log(character.most))
    there = character.known[form]
    if character.conditional:
        there = there & (rng.random(len(form)) < character.applies[form])
    return np.where(there, log, np.nan)


def _draw(shares: Floats, rng: np.random.Generator) -> Integers:
    """Draw a column of each row of shares."""
    point = rng.random(len(shares)) * shares.sum(axis=1)
    drawn = (np.cumsum(shares, axis=1) < point[:, None]).sum(axis=1)
    column: Integers = np.minimum(drawn, shares.shape[1] - 1)
    return column


def report_colonies(
    compiled: CompiledReference,
    true: TrueColonies,
    errors: Errors,
    looked_at: NDArray[np.bool_],
    rng: np.random.Generator,
) -> Evidence:
    """Report colonies with an observer's errors, sizes by eye, one reading each.

    Parameters
    ----------
    true : TrueColonies
        The N colonies.
    errors : Observer or OwnErrors
        Whose errors. EXACT misreads no group either.
    looked_at : ndarray of bool, shape (N, C)
        Which characters are reported of which colony.
    rng : numpy.random.Generator
        Draws the errors.

    Returns
    -------
    Evidence
        A size that does not apply is reported as not applying.
    """
    n = len(true.form)
    base = compiled.base_weight[:-1] / compiled.base_weight[:-1].sum()
    states, sizes = {}, {}
    for group in compiled.groups:
        rate = 0.0 if errors is Observer.EXACT else group.misread
        slipped = rng.random(n) < rate
        seen = _read_as(compiled, true, slipped, rng.choice(len(base), n, p=base), rng)
        for c in group.members:
            if not looked_at[:, c].any():
                continue
            if compiled.characters[c].is_size:
                sizes[c] = _report_sizes(compiled, c, seen, errors, looked_at[:, c], rng)
            else:
                states[c] = _report_states(compiled, c, seen, errors, looked_at[:, c], rng)
    return Evidence(n, states, sizes, np.tile(condition_odds(compiled, ()), (n, 1)))


def _read_as(
    compiled: CompiledReference,
    true: TrueColonies,
    slipped: NDArray[np.bool_],
    other: Integers,
    rng: np.random.Generator,
) -> TrueColonies:
    """Put another form's look where a whole group is misread."""
    if not slipped.any():
        return true
    wrong = draw_colonies(compiled, other, rng, true.condition)
    return TrueColonies(
        np.where(slipped, wrong.form, true.form),
        np.where(slipped, wrong.genus, true.genus),
        true.condition,
        {c: np.where(slipped, wrong.states[c], column) for c, column in true.states.items()},
        {c: np.where(slipped, wrong.log_sizes[c], log) for c, log in true.log_sizes.items()},
    )


def _report_states(
    compiled: CompiledReference,
    c: int,
    seen: TrueColonies,
    errors: Errors,
    looked_at: NDArray[np.bool_],
    rng: np.random.Generator,
) -> StateEvidence:
    """Report one character; codes are columns plus one."""
    matrix = state_errors(compiled.characters[c], errors)
    drawn = _draw(matrix[seen.states[c]], rng)
    width = len(matrix)
    codes = np.where(looked_at, drawn + 1, 0).astype(np.int32)
    masks = np.vstack([np.zeros(width, dtype=np.bool_), np.eye(width, dtype=np.bool_)])
    return StateEvidence(codes, masks, np.ones(width + 1, dtype=np.bool_))


def _report_sizes(
    compiled: CompiledReference,
    c: int,
    seen: TrueColonies,
    errors: Errors,
    looked_at: NDArray[np.bool_],
    rng: np.random.Generator,
) -> SizeEvidence:
    """Report one size by eye; where the true one is unknown nothing is reported."""
    character = compiled.characters[c]
    true = seen.log_sizes[c]
    n = len(true)
    variance, bias = size_error(compiled, "eye", 1, errors)
    said = rng.normal(true + bias, np.sqrt(variance))
    said = np.where(looked_at, said, np.nan)
    none = np.isnan(true) & looked_at & character.conditional & character.known[seen.form]
    return SizeEvidence(said, np.ones(n), ("eye",) * n, np.ones(n, dtype=np.bool_), none)
