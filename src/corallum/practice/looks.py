"""What a practice colony shows: true states and sizes, in the picture and in words."""

from __future__ import annotations

import numpy as np

from corallum.draw.surface import SurfaceParameters
from corallum.draw.surface.parameters import STATES, VALLEYED
from corallum.model.compiled import CompiledReference
from corallum.model.truth import draw_colonies

__all__ = ["PICTURED", "TOLD", "drawn_looks", "pictured_looks", "sensible"]

# What a close-up can't show, and is told beside it.
TOLD = (
    "growth_form", "attachment", "branch_habit", "axial_corallite", "plate_faces", "habitat",
    "depth_m",
)  # fmt: skip
_PORES = ("pores_one_size", "pores_two_sizes", "pore_rows", "cyclosystems", "tubes")
_BY_POLYPS = ("expansion", "tentacle_tip", "tentacles", "fine_hairs")
# Field, then the character whose states are absent and present.
_PRESENCE = {
    "hood": "corallite_hood", "rows": "corallite_rows", "verrucae": "verrucae",
    "monticules": "monticules", "concentric_ridges": "concentric_ridges",
    "costal_pits": "costal_pits", "uprights": "plate_uprights",
    "paliform_crown": "paliform_crown", "confluent": "septo_costae_confluent",
}  # fmt: skip


# What a close-up may show, so that it can be practised.
PICTURED = (
    "corallite_arrangement", "shared_wall", "calice_diameter_mm", "valley_width_mm",
    "groove_between", "wall_groove", "centres_per_valley", "axial_corallite",
    *(character for name, (character, _) in STATES.items() if name not in _BY_POLYPS),
    *_PRESENCE.values(),
)  # fmt: skip


def pictured_looks(
    compiled: CompiledReference, form: int, drawn: SurfaceParameters
) -> dict[str, str | float]:
    """Return what a rendered close-up shows, by character.

    Parameters
    ----------
    form : int
        Of the reference; only characters that apply to it and that it knows.
    drawn : SurfaceParameters
        What was drawn.
    """
    shown: dict[str, str | float] = {"corallite_arrangement": drawn.arrangement}
    # In pores there are no calices to look into, whatever the parameters hold.
    pores = drawn.arrangement in _PORES
    for name, (character, _) in STATES.items():
        if name not in _BY_POLYPS:
            shown[character] = str(getattr(drawn, name))
    for name, character in _PRESENCE.items():
        shown[character] = "present" if getattr(drawn, name) else "absent"
    if drawn.arrangement in VALLEYED:
        shown["valley_width_mm"] = round(float(drawn.valley_width_mm or 0.0), 2)
        shown["centres_per_valley"] = "one_to_three" if drawn.short_valleys else "many"
        shown["wall_groove"] = "present" if drawn.groove else "absent"
    elif not pores:
        shown["calice_diameter_mm"] = round(drawn.calice_diameter_mm, 2)
        shown["groove_between"] = "present" if drawn.groove else "absent"
    if drawn.scene == "branch_tip":
        shown["axial_corallite"] = "single"
    keep = {"corallite_arrangement", "coenosteum_texture", "living_colour", "tissue"}
    return {
        id_: value
        for id_, value in shown.items()
        if sensible(compiled, form, id_) and (not pores or id_ in keep)
    }


def sensible(compiled: CompiledReference, form: int, id_: str) -> bool:
    """Whether a character applies to most colonies of a form, and the reference knows it."""
    index = compiled.character_index.get(id_)
    if index is None:
        return any(view.id == id_ for view in compiled.views)
    character = compiled.characters[index]
    return bool(character.known[form] and character.applies[form] > 0.5)


def drawn_looks(
    compiled: CompiledReference, form: int, condition: int, rng: np.random.Generator
) -> dict[str, str | float]:
    """Draw a whole colony of a form: true states and sizes of what water and lens show.

    Parameters
    ----------
    condition : int
        What acts on it; 0 is none.
    """
    true = draw_colonies(compiled, np.array([form]), rng, np.array([condition]))
    looks: dict[str, str | float] = {}
    for c, character in enumerate(compiled.characters):
        if character.seen == "k" or not sensible(compiled, form, character.id):
            continue
        if character.is_size:
            log = float(true.log_sizes[c][0])
            if np.isfinite(log):
                looks[character.id] = float(f"{np.exp(log):.3g}")
        elif int(true.states[c][0]) < len(character.states):
            looks[character.id] = character.states[int(true.states[c][0])]
    return looks
