"""The compiled reference: the numbers the model runs on, as JSON with a hash.

Everything that answers a question reads this, and nothing else, so that a second
implementation (another language, a phone) can give the same answers from the
same file. Letters: F forms, NF = F + 1 with "something else" last, G genera,
S states, K conditions (index 0 is none).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from corallum.reference.scheme import Method, Settings

__all__ = ["CompiledCharacter", "CompiledGroup", "CompiledReference", "CompiledView", "Floats"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CompiledCharacter:
    """One character as numbers.

    Attributes
    ----------
    states : tuple of str
        The S states; one further column stands for "not applicable".
    applies : ndarray, shape (NF,)
        Share of a form's colonies to which the character applies (0 to 1).
    true : ndarray, shape (NF, S + 1)
        P(true state | form); empty for a size.
    flips : ndarray, shape (K + 1, S + 1, S + 1)
        P(state under the condition | state without), only where conditions act.
    errors : ndarray, shape (2, S + 1, S + 1)
        P(reported | true) of a trained and of a new observer.
    log_mean, log_sd : ndarray, shape (NF,)
        Log-normal of a size; 0 and 1 where it is not known.
    taken_for : tuple of tuple of int
        For each state, the states that are easily taken for it.
    known : ndarray of bool, shape (NF,)
        Whether the reference says anything.
    mixture : ndarray, shape (NF,)
        Weights of the forms in the base rate of a size, adding up to 1.
    log_shift : ndarray, shape (K + 1,)
        What conditions add to the log of a size.
    """

    id: str
    kind: str
    unit: str
    seen: str
    group: int
    seconds: float
    least: float
    most: float
    conditional: bool
    states: tuple[str, ...]
    applies: Floats
    true: Floats
    flips: Floats
    errors: Floats
    taken_for: tuple[tuple[int, ...], ...]
    log_mean: Floats
    log_sd: Floats
    known: NDArray[np.bool_]
    mixture: Floats
    log_shift: Floats

    @property
    def is_size(self) -> bool:
        """Whether it is measured or counted."""
        return self.kind != "states"


@dataclass(frozen=True, slots=True)
class CompiledView:
    """A report ``state`` of ``id`` as a set of states of a character.

    ``columns`` are columns of the character's tables, the last of which is
    "not applicable".
    """

    id: str
    state: str
    character: int
    columns: tuple[int, ...]
    seen: str
    seconds: float


@dataclass(frozen=True, slots=True)
class CompiledGroup:
    """An evidence group: its members, how often it is misread, whether conditions act."""

    id: str
    label: str
    misread: float
    conditions_act: bool
    members: tuple[int, ...]


@dataclass(frozen=True)
class CompiledReference:
    """All numbers of a reference."""

    genera: tuple[str, ...]
    families: tuple[str, ...]
    orders: tuple[str, ...]
    cautions: tuple[tuple[str, ...], ...]
    caution_texts: Mapping[str, str]
    form_ids: tuple[str, ...]
    form_genus: NDArray[np.int64]
    form_weight: Floats
    base_weight: Floats
    characters: tuple[CompiledCharacter, ...]
    views: tuple[CompiledView, ...]
    groups: tuple[CompiledGroup, ...]
    conditions: tuple[str, ...]
    hidden: Mapping[str, tuple[int, ...]]
    methods: Mapping[str, Method]
    priors: Mapping[str, Mapping[str, Floats]]
    settings: Settings

    @cached_property
    def character_index(self) -> dict[str, int]:
        """Index of a character by its id."""
        return {character.id: i for i, character in enumerate(self.characters)}

    @cached_property
    def genus_starts(self) -> NDArray[np.int64]:
        """First form of each genus, shape (G + 1,); the last is "something else"."""
        starts = np.searchsorted(self.form_genus, np.arange(len(self.genera) + 1))
        return starts.astype(np.int64)

    @cached_property
    def json(self) -> str:
        """The whole compiled reference as canonical JSON."""
        return json.dumps(_plain(self), sort_keys=True, separators=(",", ":"))

    @cached_property
    def hash(self) -> str:
        """SHA-256 of :attr:`json`, in hexadecimal."""
        return hashlib.sha256(self.json.encode()).hexdigest()

    @property
    def n_forms(self) -> int:
        """NF: forms and "something else"."""
        return len(self.form_weight)

    def genus_sum(self, values: Floats) -> Floats:
        """Sum over the forms of each genus along the last axis: (..., NF) to (..., G + 1)."""
        return np.add.reduceat(values, self.genus_starts, axis=-1)


def _plain(value: object) -> object:
    """Turn records and arrays into what JSON holds."""
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if hasattr(value, "__dataclass_fields__"):
        return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}
    return value
