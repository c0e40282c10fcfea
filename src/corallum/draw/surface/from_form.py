"""Surfaces drawn from a form of the reference: its states by their shares, its sizes by their laws.

Sizes that the reference does not give are tied to those it gives by geometry: centres
are never nearer than a calice with its wall.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from corallum.draw.surface.parameters import VALLEYED, SurfaceParameters
from corallum.model.compiled import CompiledReference

__all__ = ["draw_parameters", "scenes_of"]

# Pores and the polyps of hydrocorals are not in the reference: width and spacing in
# mm from common practice (no source); they only have to look small beside calices.
_PORES = {
    "pores_one_size": (0.6, 1.8),
    "pores_two_sizes": (0.35, 1.6),
    "pore_rows": (0.5, 1.0),
    "cyclosystems": (1.1, 2.4),
}
_SEPTA = 24
# Field, then the character that says whether it is there.
_PRESENT = {
    "hood": "corallite_hood",
    "rows": "corallite_rows",
    "verrucae": "verrucae",
    "monticules": "monticules",
    "concentric_ridges": "concentric_ridges",
    "costal_pits": "costal_pits",
    "uprights": "plate_uprights",
}
_ROOM = {"plocoid": 1.12, "phaceloid": 1.15, "dendroid": 1.6, "tubes": 1.25, "cerioid": 1.0}
_VARIES = 0.12


class _Form:
    """One form's column of the compiled reference, to draw states and sizes from."""

    def __init__(self, compiled: CompiledReference, form: int, rng: np.random.Generator) -> None:
        self.compiled, self.form, self.rng = compiled, form, rng

    def state(self, id_: str, otherwise: str) -> str:
        """Draw a state; ``otherwise`` where it is unknown or does not apply."""
        character = self.compiled.characters[self.compiled.character_index[id_]]
        if not character.known[self.form]:
            return otherwise
        share = character.true[self.form, :-1]
        if share.sum() <= 0.0:
            return otherwise
        return character.states[int(self.rng.choice(len(share), p=share / share.sum()))]

    def shown(self, id_: str, state: str) -> float:
        """Share of the form's colonies that show a state, 0 to 1."""
        character = self.compiled.characters[self.compiled.character_index[id_]]
        share = character.true[self.form]
        return float(share[character.states.index(state)]) if character.known[self.form] else 0.0

    def size(self, id_: str, colony: float) -> float | None:
        """Draw a size; ``colony`` is the colony's own deviation, shared by its sizes."""
        character = self.compiled.characters[self.compiled.character_index[id_]]
        if not character.known[self.form]:
            return None
        log = character.log_mean[self.form] + colony * character.log_sd[self.form]
        return float(np.exp(log))


def scenes_of(compiled: CompiledReference, form: int) -> tuple[str, ...]:
    """Scenes in which a form can be shown, ``close_up`` always among them."""
    a_form = _Form(compiled, form, np.random.default_rng(0))
    scenes = ["close_up"]
    if a_form.shown("axial_corallite", "single") >= 0.4:
        scenes.append("branch_tip")
    plates = ("laminar", "foliaceous")
    if sum(a_form.shown("growth_form", state) for state in plates) >= 0.4:
        scenes.append("plate_margin")
    solitary = a_form.shown("corallite_arrangement", "solitary")
    if min(a_form.shown("attachment", "stalked"), solitary) >= 0.4:
        scenes.append("stalked_young")
    return tuple(scenes)


def draw_parameters(
    compiled: CompiledReference,
    form: int,
    rng: np.random.Generator,
    scene: str = "close_up",
    *,
    expanded: bool = False,
) -> SurfaceParameters:
    """Draw one colony of a form.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    form : int
        Index of the form, 0 to F - 1.
    rng : numpy.random.Generator
        Draws states by their shares and sizes by their log-normals.
    scene : str
        What is shown; one of :func:`scenes_of`.
    expanded : bool
        Draw the polyps as the form shows them by day, as a diver meets them. False
        draws them in, so that calices can be measured.

    Returns
    -------
    SurfaceParameters
        With centres at least a calice and its wall apart.
    """
    a_form = _Form(compiled, form, rng)
    # What lies over the calices has a stream of its own, so that it shifts nothing else.
    over = _Form(compiled, form, rng.spawn(1)[0])
    arrangement = a_form.state("corallite_arrangement", "plocoid")
    if scene == "stalked_young":
        arrangement = "solitary"
    diameter, spacing, valley = _draw_sizes(a_form, arrangement)
    colony = float(np.clip(rng.normal(), -2.0, 2.0))
    return SurfaceParameters(
        arrangement=arrangement,
        spacing_mm=spacing,
        calice_diameter_mm=diameter,
        valley_width_mm=valley,
        relief=a_form.state("corallite_relief", "flush"),
        septa_count=max(3, round(a_form.size("septa_count", colony) or _SEPTA)),
        septal_teeth=a_form.state("septal_teeth", "fine"),
        columella=a_form.state("columella", "spongy"),
        paliform_crown=a_form.state("paliform_crown", "absent") == "present",
        texture=a_form.state("coenosteum_texture", "granular"),
        tissue=a_form.state("tissue", "thin"),
        colour=a_form.state("living_colour", "brown_or_green"),
        scene=scene,
        septa_order=a_form.state("septa_order", "alternating"),
        septa_relief=a_form.state("septa_relief", "even"),
        wall_crest=a_form.state("wall_crest", "rounded"),
        groove=_draw_groove(a_form, over, arrangement),
        confluent=a_form.state("septo_costae_confluent", "absent") == "present",
        short_valleys=a_form.state("centres_per_valley", "many") == "one_to_three",
        **_draw_landforms(over),
        **(_draw_polyps(over) if expanded else {}),
    )


def _draw_landforms(a_form: _Form) -> dict[str, Any]:
    """Draw what leans, hides or lifts corallites."""
    shown = {
        field: a_form.state(character, "absent") == "present"
        for field, character in _PRESENT.items()
    }
    return {**shown, "tilt": a_form.state("corallite_tilt", "upright")}


def _draw_polyps(a_form: _Form) -> dict[str, Any]:
    """Draw what the polyps show by day."""
    return {
        "expansion": a_form.state("day_expansion", "retracted"),
        "tentacle_tip": a_form.state("tentacle_tip", "tapered"),
        "tentacles": a_form.state("tentacle_count", "many"),
        "fine_hairs": a_form.state("fine_hairs", "absent") == "present",
    }


def _draw_groove(a_form: _Form, over: _Form, arrangement: str) -> bool:
    """Draw whether a furrow parts the walls of neighbours or runs on the crest."""
    character = "wall_groove" if arrangement == "meandroid" else "groove_between"
    groove = a_form.state(character, "absent") == "present"
    # On a shared wall either furrow looks the same.
    shared = arrangement == "cerioid" and over.state("wall_groove", "absent") == "present"
    return groove or shared


def _draw_sizes(a_form: _Form, arrangement: str) -> tuple[float, float, float | None]:
    """Draw calice diameter, spacing and valley width that go together."""
    colony = float(np.clip(a_form.rng.normal(), -2.0, 2.0))
    if arrangement in _PORES:
        width, spacing = _PORES[arrangement]
        grow = float(np.exp(_VARIES * colony))
        return width * grow, spacing * grow, None
    diameter = a_form.size("calice_diameter_mm", colony)
    given = a_form.size("corallite_spacing_mm", colony)
    if arrangement in VALLEYED:
        valley = a_form.size("valley_width_mm", colony) or diameter or 6.0
        return valley * 0.8, valley * 0.9, valley
    room = _ROOM.get(arrangement, 1.0)
    if diameter is None:
        diameter = 4.0 if given is None else given / (room * 1.1)
    if given is None:
        given = room * (a_form.size("corallite_diameter_mm", colony) or diameter * 1.1)
    return diameter, max(given, diameter * room), None
