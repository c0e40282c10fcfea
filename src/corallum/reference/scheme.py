"""The scheme of characters: what can be seen or measured, and how it is misjudged.

A character has states or is a size. A view is another way to report a character
(``shared_wall`` is a set of corallite arrangements), so that one look is never
counted twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "NOT_APPLICABLE",
    "NOT_LOOKED_AT",
    "Character",
    "Condition",
    "Confusion",
    "Group",
    "Hiding",
    "Method",
    "Scheme",
    "Settings",
    "State",
    "View",
]

NOT_APPLICABLE = "not_applicable"
NOT_LOOKED_AT = "not_looked_at"
SEEN = ("w", "l", "k")


@dataclass(frozen=True, slots=True)
class State:
    """One state of a character, with its plain label and definition."""

    id: str
    label: str
    definition: str


@dataclass(frozen=True, slots=True)
class Character:
    """Something to look at.

    ``kind`` is states, size or count; sizes are in ``unit`` and plausible from
    ``least`` to ``most``. ``seen`` is w (in the water), l (lens) or k (cleaned
    skeleton). ``applies_to`` names the character and its states in which this
    one applies, or is None. ``seconds`` is what a look costs a diver.
    """

    id: str
    kind: str
    unit: str
    seen: str
    group: str
    seconds: float
    least: float
    most: float
    applies_to: tuple[str, tuple[str, ...]] | None
    question: str
    definition: str
    source: str
    states: tuple[State, ...]

    @property
    def state_ids(self) -> tuple[str, ...]:
        """Ids of the states, in order; empty for a size."""
        return tuple(state.id for state in self.states)

    @property
    def is_size(self) -> bool:
        """Whether it is measured or counted."""
        return self.kind != "states"


@dataclass(frozen=True, slots=True)
class View:
    """A report in other words: ``state`` of ``id`` means ``states`` of ``of``."""

    id: str
    state: str
    of: str
    states: tuple[str, ...]
    seen: str
    seconds: float
    question: str
    definition: str


@dataclass(frozen=True, slots=True)
class Group:
    """Characters that describe one thing and are misread together (0 to 1)."""

    id: str
    label: str
    misread: float
    conditions_act: bool


@dataclass(frozen=True, slots=True)
class Confusion:
    """Two states taken for each other, with the share by a trained and a new observer."""

    character: str
    a: str
    b: str
    trained: float
    new: float


@dataclass(frozen=True, slots=True)
class Condition:
    """What one condition does: of colonies that would show ``from_``, ``share`` show ``to``."""

    condition: str
    character: str
    from_: str
    to: str
    share: float


@dataclass(frozen=True, slots=True)
class Hiding:
    """A state of the colony or of the look in which a character says nothing."""

    state: str
    character: str
    source: str


@dataclass(frozen=True, slots=True)
class Method:
    """How a size was judged: log sd of the observer and of each reading, and log bias."""

    id: str
    observer_sd: tuple[float, float]
    each_sd: float
    bias: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Settings:
    """The numbers of the model, each in one place; ``settings.csv`` explains them."""

    condition_none: float
    condition_stated: float
    inapplicable: float
    unsure: float
    size_tail: float
    other_slip_trained: float
    other_slip_new: float
    prior_survey_share: float
    prior_floor: float
    prior_off_list: float
    something_else: float
    set_mass: float
    separable: float


@dataclass(frozen=True, slots=True)
class Scheme:
    """All characters and how they are looked at and misjudged."""

    characters: Mapping[str, Character]
    views: tuple[View, ...]
    groups: Mapping[str, Group]
    confusions: tuple[Confusion, ...]
    conditions: tuple[Condition, ...]
    hidings: tuple[Hiding, ...]
    methods: Mapping[str, Method]
    words: Mapping[str, float]
    settings: Settings

    @property
    def condition_ids(self) -> tuple[str, ...]:
        """Conditions in the order in which the table names them first."""
        return tuple(dict.fromkeys(effect.condition for effect in self.conditions))

    @property
    def view_ids(self) -> tuple[str, ...]:
        """Ids of views that are not characters themselves."""
        ids = dict.fromkeys(view.id for view in self.views)
        return tuple(id_ for id_ in ids if id_ not in self.characters)

    def report_states(self, id_: str) -> tuple[str, ...]:
        """States that a person may report for a character or view (empty for a size)."""
        character = self.characters.get(id_)
        own = character.state_ids if character else ()
        extra = tuple(view.state for view in self.views if view.id == id_)
        return own + tuple(state for state in extra if state not in own)
