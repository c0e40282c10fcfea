"""Invented colonies, drawn from the model with an observer's errors, and their pictures."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from corallum.actions.references import Library
from corallum.draw.surface import ViewOptions, draw_parameters, render_colony, scenes_of
from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.likelihood import Kernel
from corallum.model.prior import genus_prior
from corallum.model.simulate import Simulated, simulate
from corallum.records.colony import Report, SizeReport, StateReport

__all__ = ["DrawnPhoto", "InventedColony", "draw_photo", "invent_colonies"]

# What every diver writes down; the rest is a matter of time and care.
_ALWAYS = (
    "growth_form", "corallite_arrangement", "calice_diameter_mm", "valley_width_mm",
    "axial_corallite", "living_colour", "depth_m", "habitat",
)  # fmt: skip
# Share of the characters that is looked at in the water and with a lens: by one diver in
# three who has time, and by the others.
_WITH_TIME, _IN_PASSING = {"w": 0.75, "l": 0.6}, {"w": 0.4, "l": 0.22}
_WIDTH, _HEIGHT = 1000, 750


@dataclass(frozen=True, slots=True)
class InventedColony:
    """A colony that does not exist: its true form, and what was reported of it.

    ``form`` is None for a colony that the reference does not hold.
    """

    genus: str | None
    form: int | None
    reports: Mapping[str, Report]
    conditions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DrawnPhoto:
    """A picture as JPEG, with the ruler's ends (pixels), its length and the true spacing (mm)."""

    data: bytes
    ruler_px: tuple[tuple[float, float], ...]
    ruler_mm: float
    spacing_mm: float


def invent_colonies(
    library: Library, region: str, observer: Observer, n: int, rng: np.random.Generator
) -> list[InventedColony]:
    """Draw colonies as they are met in a region, reported with an observer's errors."""
    compiled = library.compiled
    looked = np.zeros((n, len(compiled.characters)), np.bool_)
    has_time = rng.random(n) < 1 / 3
    for c, character in enumerate(compiled.characters):
        often, seldom = (one.get(character.seen, 0.0) for one in (_WITH_TIME, _IN_PASSING))
        share = np.where(has_time, often, seldom)
        if character.id in _ALWAYS:
            share = np.full(n, 0.97)
        looked[:, c] = rng.random(n) < share
    prior = genus_prior(compiled, region)
    drawn = simulate(Kernel(compiled, observer), prior, looked, rng, method="ruler", readings=5)
    return [_colony(compiled, drawn, i) for i in range(n)]


def _colony(compiled: CompiledReference, drawn: Simulated, i: int) -> InventedColony:
    """Turn one drawn colony into reports as a diver writes them."""
    reports: dict[str, Report] = {}
    for c, states in drawn.evidence.states.items():
        code = int(states.codes[i])
        names = compiled.characters[c].states
        # What does not apply is left out: nobody writes that down under water.
        if 0 < code <= len(names) and names[code - 1] != "not_applicable":
            reports[compiled.characters[c].id] = StateReport((names[code - 1],))
    for c, sizes in drawn.evidence.sizes.items():
        character = compiled.characters[c]
        log = float(sizes.log_value[i])
        if not np.isfinite(log):
            continue
        value = float(f"{np.exp(log):.2g}")
        value = min(max(value, character.least), character.most)
        measured = character.id not in ("depth_m", "colony_diameter_cm")
        whole = character.kind == "count"
        reports[character.id] = SizeReport(
            float(round(value)) if whole else value,
            5 if measured and not whole else 1,
            "ruler" if measured else "eye",
        )
    condition = int(drawn.condition[i])
    said = (compiled.conditions[condition - 1],) if condition else ()
    g = int(drawn.genus[i])
    if g >= len(compiled.genera):
        return InventedColony(None, None, reports, said)
    return InventedColony(compiled.genera[g], int(drawn.form[i]), reports, said)


_library = Library()


def draw_photo(form: int, seed: int) -> DrawnPhoto:
    """Draw a close-up of one colony of a form of the shipped reference, with a ruler in it."""
    rng = np.random.default_rng(seed)
    compiled = _library.compiled
    scenes = scenes_of(compiled, form)
    scene = scenes[int(rng.integers(len(scenes)))] if rng.random() < 0.3 else "close_up"
    params = draw_parameters(compiled, form, rng, scene)
    options = ViewOptions(
        width=_WIDTH, height=_HEIGHT, scale_bar=True, blur_px=float(rng.uniform(0.5, 1.4)),
        noise=float(rng.uniform(0.01, 0.03)), water=float(rng.uniform(0.1, 0.5)),
    )  # fmt: skip
    rendered = render_colony(params, options, rng)
    picture = Image.fromarray(rendered.image)
    pen = ImageDraw.Draw(picture)
    text = "drawing, not a photograph; invented"
    box = pen.textbbox((0, 0), text, font_size=20)
    corner = (_WIDTH - box[2] - 14, 8)
    pen.rectangle((corner[0] - 6, 4, _WIDTH - 6, 36), fill=(0, 0, 0))
    pen.text(corner, text, fill=(255, 255, 255), font_size=20)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    truth = rendered.truth
    ends = () if truth.ruler_px is None else tuple((float(x), float(y)) for x, y in truth.ruler_px)
    return DrawnPhoto(out.getvalue(), ends, float(truth.ruler_mm or 0.0), float(truth.spacing_mm))
