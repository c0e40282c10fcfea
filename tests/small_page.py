"""A small question for field sheets: twelve genera and eight characters, drawn once."""

from __future__ import annotations

from functools import cache

import numpy as np

from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.page_accuracy import Trial
from corallum.model.page_budget import PageQuestion, ask_page
from support import compiled

# Twelve genera of the Indo-Pacific with look-alikes among them, and eight characters of
# six evidence groups: two pairs are misread together, and conditions act on one.
GENERA = (
    "Acropora", "Dipsastraea", "Favites", "Galaxea", "Goniastrea", "Goniopora", "Lobophyllia",
    "Montipora", "Pavona", "Platygyra", "Pocillopora", "Porites",
)  # fmt: skip
SIZE = "corallite_diameter_mm"
CHARACTERS = (
    "growth_form", "corallite_arrangement", "wall_crest", SIZE,
    "corallite_relief", "corallite_outline", "axial_corallite", "living_colour",
)  # fmt: skip
COLONIES, SEED = 300, 17


def ask(
    reference: CompiledReference | None = None, characters: tuple[str, ...] = CHARACTERS
) -> PageQuestion:
    """The small question: twelve genera and eight characters, an unknown observer."""
    return ask_page(
        reference or compiled(),
        Observer.UNKNOWN,
        "indo_pacific",
        genera=GENERA,
        characters=characters,
    )


@cache
def trial() -> Trial:
    """Colonies of the small question."""
    return Trial.draw(ask(), COLONIES, np.random.default_rng(SEED))
