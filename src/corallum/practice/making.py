"""Make single practice items: a form, a look drawn from it, and the best that can be said of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from corallum.draw.surface import SurfaceParameters, draw_parameters, scenes_of
from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.practice.item import Item
from corallum.practice.looks import TOLD, drawn_looks, pictured_looks, sensible
from corallum.records.colony import Colony, SizeReport, StateReport

__all__ = ["Maker", "Wish", "item_surface"]

# Genera less probable than this are left to "something else" in the best posterior.
_LEAST = 1e-4
# Share of looks that a described colony tells, in water and with a lens.
_TELLS = {"w": 0.6, "l": 0.4}
_MOST_SEED = 2**31


@dataclass(frozen=True, slots=True)
class Wish:
    """What an item shall be: a form, why, and what it practises."""

    form: int
    why: str
    condition: int = 0
    ask: str = ""
    kind: str = "rendered"


class Maker:
    """Makes items against one reference.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    region : str
        Where the colonies are said to be.
    """

    def __init__(self, compiled: CompiledReference, region: str) -> None:
        self.compiled, self.region = compiled, region
        self.exact = Determiner(compiled, Observer.EXACT)

    def make(self, wish: Wish, rng: np.random.Generator) -> Item:
        """Make one item as wished."""
        seed = int(rng.integers(_MOST_SEED))
        compiled = self.compiled
        conditions = (compiled.conditions[wish.condition - 1],) if wish.condition else ()
        scene, shown, told = "", {}, {}
        looks = drawn_looks(compiled, wish.form, wish.condition, np.random.default_rng(seed + 1))
        if wish.kind == "rendered":
            scene = self._scene(wish, rng)
            drawn = item_surface(compiled, wish.form, seed, scene)
            shown = pictured_looks(compiled, wish.form, drawn)
            told = {id_: looks[id_] for id_ in TOLD if id_ in looks and self._tells(id_, scene)}
        else:
            told = self._described(looks, wish.ask, rng)
        seen = {**told, **shown}
        g = int(compiled.form_genus[wish.form])
        return Item(
            kind=wish.kind, genus=compiled.genera[g], form=compiled.form_ids[wish.form],
            region=self.region, seed=seed, scene=scene, conditions=conditions, shown=seen,
            told=tuple(told), best=self.best(seen, conditions),
            ruler=not self._by_eye(wish.ask), ask=wish.ask, why=wish.why,
        )  # fmt: skip

    def best(
        self, seen: Mapping[str, str | float], conditions: tuple[str, ...] = ()
    ) -> dict[str, float]:
        """Return P(genus) after all of it was seen without error; the rest is something else."""
        observations = {
            id_: StateReport((value,)) if isinstance(value, str) else SizeReport(value)
            for id_, value in seen.items()
        }
        colony = Colony("item", observations, self.region, None, conditions)
        genus = self.exact.posterior([colony]).genus[0, :-1]
        order = np.argsort(-genus, kind="stable")
        return {self.compiled.genera[i]: float(genus[i]) for i in order if genus[i] >= _LEAST}

    def _scene(self, wish: Wish, rng: np.random.Generator) -> str:
        """Choose what the picture shows."""
        scenes = scenes_of(self.compiled, wish.form)
        if wish.ask == "axial_corallite" and "branch_tip" in scenes:
            return "branch_tip"
        if wish.ask in ("plate_uprights", "concentric_ridges") and "plate_margin" in scenes:
            return "plate_margin"
        return "close_up" if wish.ask else scenes[int(rng.integers(len(scenes)))]

    @staticmethod
    def _tells(id_: str, scene: str) -> bool:
        """Whether a look must be told beside a picture."""
        return not (id_ == "axial_corallite" and scene == "branch_tip")

    def _by_eye(self, ask: str) -> bool:
        """Whether an item practises judging a size without a ruler."""
        index = self.compiled.character_index.get(ask)
        return index is not None and self.compiled.characters[index].is_size

    def _described(
        self, looks: Mapping[str, str | float], ask: str, rng: np.random.Generator
    ) -> dict[str, str | float]:
        """Choose what a description tells: shape and wall always, the rest by chance."""
        told = {}
        for id_, value in looks.items():
            character = self.compiled.characters[self.compiled.character_index[id_]]
            always = id_ in ("growth_form", "corallite_arrangement", ask)
            if always or rng.random() < _TELLS.get(character.seen, 0.0):
                told[id_] = value
        return told

    def suits(self, form: int, ask: str) -> bool:
        """Whether a form can practise a character."""
        return not ask or sensible(self.compiled, form, ask)


def item_surface(
    compiled: CompiledReference, form: int, seed: int, scene: str
) -> SurfaceParameters:
    """Return what is drawn for an item, the same each time."""
    return draw_parameters(compiled, form, np.random.default_rng(seed), scene)
