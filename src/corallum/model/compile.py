"""Compile the reference into the arrays that the model runs on.

A cell that says nothing becomes the base rate over all forms, so that ignorance
is neutral; a character that may not apply gets a column for "not applicable".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from corallum.model.compiled import (
    CompiledCharacter,
    CompiledGroup,
    CompiledReference,
    CompiledView,
    Floats,
)
from corallum.model.errors import error_matrix
from corallum.model.prior import compile_priors
from corallum.reference.reference import Reference
from corallum.reference.scheme import NOT_APPLICABLE, Character, Scheme
from corallum.reference.values import SizeRange, StateWords

__all__ = ["compile_reference"]

# A 95 % range of a normal spans this many standard deviations.
_RANGE_SDS = 2 * 1.959963984540054


def compile_reference(reference: Reference) -> CompiledReference:
    """Compile a sound reference; see :class:`CompiledReference` for what comes out."""
    scheme, entries = reference.scheme, reference.entries
    genera = tuple(entries.genera)
    forms = _Forms.of(reference)
    group_ids = tuple(scheme.groups)
    parents: dict[str, Floats] = {}
    characters = []
    for character in _parents_first(scheme):
        compiled = _compile_character(reference, forms, character, parents, group_ids)
        characters.append(compiled)
        if not compiled.is_size:
            parents[character.id] = compiled.true
    order = {id_: i for i, id_ in enumerate(scheme.characters)}
    characters.sort(key=lambda character: order[character.id])
    return CompiledReference(
        genera=genera,
        families=tuple(genus.family for genus in entries.genera.values()),
        orders=tuple(genus.order for genus in entries.genera.values()),
        cautions=tuple(genus.cautions for genus in entries.genera.values()),
        caution_texts={caution.id: caution.text for caution in entries.cautions.values()},
        form_ids=(*(form.id for form in entries.forms), "something_else"),
        form_genus=forms.genus,
        form_weight=forms.weight,
        base_weight=forms.base,
        characters=tuple(characters),
        views=_compile_views(scheme),
        groups=tuple(
            CompiledGroup(
                group.id,
                group.label,
                group.misread,
                group.conditions_act,
                tuple(i for i, c in enumerate(characters) if group_ids[c.group] == group.id),
            )
            for group in scheme.groups.values()
        ),
        conditions=scheme.condition_ids,
        hidden=_compile_hidings(scheme),
        methods=scheme.methods,
        priors=compile_priors(entries, scheme.settings),
        settings=scheme.settings,
    )


@dataclass(frozen=True, slots=True)
class _Forms:
    """Forms as arrays of length NF; "something else" has no base weight."""

    keys: tuple[tuple[str, str], ...]
    genus: NDArray[np.int64]
    weight: Floats
    base: Floats

    @classmethod
    def of(cls, reference: Reference) -> _Forms:
        """Take the forms of a reference, in order of genus."""
        entries = reference.entries
        index = {name: i for i, name in enumerate(entries.genera)}
        totals: dict[str, float] = {}
        for form in entries.forms:
            totals[form.genus] = totals.get(form.genus, 0.0) + form.weight
        weight = np.array([*(form.weight / totals[form.genus] for form in entries.forms), 1.0])
        return cls(
            tuple((form.genus, form.id) for form in entries.forms),
            np.array([*(index[form.genus] for form in entries.forms), len(index)]),
            weight,
            np.append(weight[:-1] / len(index), 0.0),
        )


def _parents_first(scheme: Scheme) -> list[Character]:
    """Order characters so that the one on which another's applicability hangs comes first."""
    done: dict[str, Character] = {}

    def visit(character: Character) -> None:
        if character.id in done:
            return
        if character.applies_to is not None:
            visit(scheme.characters[character.applies_to[0]])
        done[character.id] = character

    for character in scheme.characters.values():
        visit(character)
    return list(done.values())


def _compile_character(
    reference: Reference,
    forms: _Forms,
    character: Character,
    parents: dict[str, Floats],
    group_ids: tuple[str, ...],
) -> CompiledCharacter:
    """Compile one character over all forms."""
    scheme = reference.scheme
    applies = _applies(scheme, character, parents, len(forms.weight))
    applies[-1] = forms.base[:-1] @ applies[:-1]
    acts = scheme.groups[character.group].conditions_act
    mean = sd = mixture = shift = table = flips = errors = np.zeros(0)
    if character.is_size:
        mean, sd, known, mixture = _sizes(reference, forms, character, applies)
        shift = _shifts(scheme, character) if acts else shift
    else:
        table, known = _states(reference, forms, character, applies)
        flips = _flips(scheme, character) if acts else flips
        errors = error_matrix(scheme, character)
    return CompiledCharacter(
        id=character.id,
        kind=character.kind,
        unit=character.unit,
        seen=character.seen,
        group=group_ids.index(character.group),
        seconds=character.seconds,
        least=character.least,
        most=min(character.most, 1e9),
        conditional=character.applies_to is not None,
        states=character.state_ids,
        applies=applies,
        true=table,
        flips=flips,
        errors=errors,
        taken_for=_taken_for(scheme, character),
        log_mean=mean,
        log_sd=sd,
        known=known,
        mixture=mixture,
        log_shift=shift,
    )


def _applies(scheme: Scheme, character: Character, parents: dict[str, Floats], n: int) -> Floats:
    """Share of each form's colonies to which a character applies, shape (NF,)."""
    if character.applies_to is None:
        return np.ones(n)
    parent, states = character.applies_to
    ids = scheme.characters[parent].state_ids
    columns = [ids.index(state) for state in states]
    shares: Floats = parents[parent][:, columns].sum(axis=1)
    return shares


def _states(
    reference: Reference, forms: _Forms, character: Character, applies: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """P(true state | form), shape (NF, S + 1), and whether the reference says it."""
    scheme = reference.scheme
    size = len(character.states)
    shown = np.zeros((len(forms.weight), size + 1))
    known = np.zeros(len(forms.weight), dtype=np.bool_)
    for i, key in enumerate(forms.keys):
        value = reference.entries.values.get((*key, character.id))
        if value is not None and isinstance(value.value, StateWords):
            shown[i] = _word_shares(scheme, character, value.value)
            known[i] = True
    weights = forms.base * applies * known
    total = weights.sum()
    base = weights @ shown / total if total else np.append(np.full(size, 1 / size), 0.0)
    shown[~known] = base
    if character.applies_to is None:
        shown[-1] = forms.base @ shown
        return shown, known
    slip = scheme.settings.inapplicable
    within = (1 - slip) * shown
    within[:, -1] += slip
    outside = slip * base
    outside[-1] += 1 - slip
    table = applies[:, None] * within + (1 - applies)[:, None] * outside
    table[-1] = forms.base @ table
    return table, known


def _word_shares(scheme: Scheme, character: Character, value: StateWords) -> Floats:
    """Frequency words as probabilities over the states and "not applicable"."""
    ids = character.state_ids
    shares = np.append(np.full(len(ids), scheme.words["never"]), 0.0)
    for state, word in value.words.items():
        columns = _columns(scheme, character, state)
        shares[columns] = scheme.words[word] / len(columns)
    normalised: Floats = shares / shares.sum()
    return normalised


def _columns(scheme: Scheme, character: Character, state: str) -> list[int]:
    """Columns of a state, or of the states that its view stands for."""
    ids = (*character.state_ids, NOT_APPLICABLE)
    if state in ids:
        return [ids.index(state)]
    view = next(v for v in scheme.views if v.id == character.id and v.state == state)
    return [ids.index(name) for name in view.states]


def _sizes(
    reference: Reference, forms: _Forms, character: Character, applies: Floats
) -> tuple[Floats, Floats, NDArray[np.bool_], Floats]:
    """Log mean, log sd, known and mixture weights of a size, each of shape (NF,)."""
    n = len(forms.weight)
    mean, sd = np.zeros(n), np.ones(n)
    known = np.zeros(n, dtype=np.bool_)
    for i, key in enumerate(forms.keys):
        value = reference.entries.values.get((*key, character.id))
        if value is not None and isinstance(value.value, SizeRange):
            low, high = np.log(value.value.low), np.log(value.value.high)
            mean[i], sd[i], known[i] = (low + high) / 2, (high - low) / _RANGE_SDS, True
    weights = forms.base * applies * known
    if not weights.sum():
        mean[0], sd[0], weights[0] = np.log(character.least * character.most) / 2, 2.0, 1.0
    return mean, sd, known, weights / weights.sum()


def _flips(scheme: Scheme, character: Character) -> Floats:
    """P(state under the condition | state without), shape (K + 1, S + 1, S + 1)."""
    ids = character.state_ids
    flips = np.tile(np.eye(len(ids) + 1), (len(scheme.condition_ids) + 1, 1, 1))
    for effect in scheme.conditions:
        if effect.character == character.id:
            k = scheme.condition_ids.index(effect.condition) + 1
            a, b = ids.index(effect.from_), ids.index(effect.to)
            flips[k, a, b] += effect.share
            flips[k, a, a] -= effect.share
    return flips


def _taken_for(scheme: Scheme, character: Character) -> tuple[tuple[int, ...], ...]:
    """List, for each state, the states that it is easily taken for."""
    ids = character.state_ids
    pairs = [(pair.a, pair.b) for pair in scheme.confusions if pair.character == character.id]
    both = {*pairs, *((b, a) for a, b in pairs)}
    return tuple(tuple(j for j, b in enumerate(ids) if (a, b) in both) for a in ids)


def _shifts(scheme: Scheme, character: Character) -> Floats:
    """What each condition adds to the log of a size, shape (K + 1,)."""
    shifts = np.zeros(len(scheme.condition_ids) + 1)
    for effect in scheme.conditions:
        if effect.character == character.id:
            shifts[scheme.condition_ids.index(effect.condition) + 1] = np.log(effect.share)
    return shifts


def _compile_hidings(scheme: Scheme) -> dict[str, tuple[int, ...]]:
    """List what each state of the colony or of the look hides, as indices of characters."""
    index = {id_: i for i, id_ in enumerate(scheme.characters)}
    states = dict.fromkeys(hiding.state for hiding in scheme.hidings)
    return {
        state: tuple(index[h.character] for h in scheme.hidings if h.state == state)
        for state in states
    }


def _compile_views(scheme: Scheme) -> tuple[CompiledView, ...]:
    """Views as sets of columns of their character's tables."""
    index = {id_: i for i, id_ in enumerate(scheme.characters)}
    found = []
    for view in scheme.views:
        ids = (*scheme.characters[view.of].state_ids, NOT_APPLICABLE)
        columns = tuple(ids.index(state) for state in view.states)
        found.append(
            CompiledView(view.id, view.state, index[view.of], columns, view.seen, view.seconds)
        )
    return tuple(found)
