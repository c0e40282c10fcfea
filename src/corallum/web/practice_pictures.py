"""Pictures of practice items: drawn when asked for, and kept a while."""

from __future__ import annotations

import io
import threading
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from corallum.actions.practice_sets import compiled_of
from corallum.errors import NotFoundError
from corallum.model.compiled import CompiledReference
from corallum.practice.item import Item
from corallum.practice.kept import PracticeSet
from corallum.store.programme import Programme

if TYPE_CHECKING:
    from corallum.draw.surface import Truth

__all__ = ["HEIGHT", "WIDTH", "DrawnItem", "draw_item", "item_of"]

WIDTH, HEIGHT = 1000, 750
_one_at_a_time = threading.Lock()


@dataclass(frozen=True, slots=True)
class DrawnItem:
    """A picture as JPEG, how many millimetres it is across, and where things are in it."""

    data: bytes
    across_mm: float
    truth: Truth


def item_of(found: PracticeSet, number: int) -> Item:
    """Return an item by its number, counted from 1 as pages do."""
    if not 1 <= number <= len(found.items):
        raise NotFoundError("practice item", number)
    return found.items[number - 1]


def draw_item(programme: Programme, found: PracticeSet, item: Item) -> DrawnItem:
    """Draw an item as the reference of its set had it.

    Raises
    ------
    NotFoundError
        Where it is no rendered item.
    """
    if item.kind != "rendered":
        raise NotFoundError("picture of item", item.kind)
    compiled = compiled_of(programme, found.reference_hash)
    with _one_at_a_time:
        return _draw(_Key(compiled, item))


class _Key:
    """What a picture depends on, to keep it by."""

    def __init__(self, compiled: CompiledReference, item: Item) -> None:
        self.compiled, self.item = compiled, item
        self.key = (compiled.hash, item.genus, item.form, item.seed, item.scene, item.ruler)

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.key == other.key


@lru_cache(maxsize=128)
def _draw(key: _Key) -> DrawnItem:
    """Draw one picture."""
    # Slow to import, and not every page draws.
    from corallum.draw.surface import ViewOptions, render_colony  # noqa: PLC0415
    from corallum.practice.making import item_surface  # noqa: PLC0415

    compiled, item = key.compiled, key.item
    g = compiled.genera.index(item.genus)
    forms = [i for i in range(len(compiled.form_ids)) if compiled.form_genus[i] == g]
    form = next((i for i in forms if compiled.form_ids[i] == item.form), None)
    if form is None:
        raise NotFoundError("form", f"{item.genus} {item.form}")
    surface = item_surface(compiled, form, item.seed, item.scene)
    options = ViewOptions(
        width=WIDTH, height=HEIGHT, scale_bar=item.ruler, water=0.15, noise=0.01, label=True
    )
    drawn = render_colony(surface, options, np.random.default_rng(item.seed + 2))
    out = io.BytesIO()
    Image.fromarray(drawn.image).save(out, "JPEG", quality=82)
    return DrawnItem(out.getvalue(), WIDTH / drawn.truth.px_per_mm, drawn.truth)
