"""Expanded polyps as soft shapes that cover the skeleton: what they hide is not seen.

One function for each look: crowns of tentacles around each centre, long tentacles
that stream over the colony, fringes, bubbles, and the fuzz of hydrocorals. Shares
of the spacing are set by eye from the definitions of the states.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from corallum.draw.surface.bubbles import raise_bubbles
from corallum.draw.surface.camera import Floats32
from corallum.draw.surface.cover import Cover
from corallum.draw.surface.crowns import raise_crowns, raise_fringe, raise_valley_fringe
from corallum.draw.surface.layout import Layout
from corallum.draw.surface.parameters import VALLEYED, SurfaceParameters
from corallum.draw.surface.relief import Relief
from corallum.draw.surface.scene import Scene
from corallum.draw.surface.streaming import raise_hairs, raise_streaming

__all__ = ["hides", "spread_polyps"]

_PORED = ("pores_one_size", "pores_two_sizes", "pore_rows", "cyclosystems")
# How dark it is under long tentacles, and under short ones.
_UNDER = {"long_polyps": 0.6, "short_tentacles": 0.15, "vesicles": 0.55, "hairs": 0.3}


def hides(params: SurfaceParameters) -> bool:
    """Whether the polyps are spread over their calices; a fringe leaves them to be seen."""
    return params.arrangement not in _PORED and params.expansion in ("long_polyps", "vesicles")


def spread_polyps(
    relief: Relief,
    params: SurfaceParameters,
    scene: Scene,
    rng: np.random.Generator,
) -> Relief:
    """Cover a surface with what its polyps show by day.

    Parameters
    ----------
    relief : Relief
        The surface, tissue and all.
    params : SurfaceParameters
        ``expansion``, ``tentacle_tip``, ``tentacles`` and ``fine_hairs``.
    scene : Scene
        Where units stand, the points of the surface, and what the cover stands on.
    rng : numpy.random.Generator
        Draws places; nothing where nothing is spread.

    Returns
    -------
    Relief
        With the cover on it.
    """
    if params.arrangement in _PORED:
        if not params.fine_hairs:
            return relief
        hairs = raise_hairs(params.spacing_mm, *scene.at_mm, rng)
        # Hairs are seen by their colour: what they stand on is where they stand.
        free = scene.free if relief.coral is None else scene.free * relief.coral
        return _laid(
            relief, hairs, replace(scene, ground_mm=relief.height, free=free), _UNDER["hairs"]
        )
    if params.expansion == "retracted":
        return relief
    cover = _cover(params, scene.layout, scene.at_mm, rng)
    return _laid(relief, cover, scene, _UNDER[params.expansion])


def _cover(
    params: SurfaceParameters,
    layout: Layout,
    grid: tuple[Floats32, Floats32],
    rng: np.random.Generator,
) -> Cover:
    """What is spread, by its state and by how the polyps meet."""
    x, y = grid
    valleyed = params.arrangement in VALLEYED
    if params.expansion == "vesicles":
        return raise_bubbles(params, layout, x, y, rng)
    if params.expansion == "short_tentacles":
        if valleyed:
            return raise_valley_fringe(params, layout, x, y, rng)
        if params.arrangement == "solitary":
            return raise_streaming(params, layout, x, y, rng)
        return raise_fringe(params, layout, x, y, rng)
    crowned = params.tentacles != "many" or params.tentacle_tip == "tapered"
    if valleyed or params.arrangement == "solitary" or not crowned:
        return raise_streaming(params, layout, x, y, rng)
    return raise_crowns(params, layout, x, y, rng)


def _laid(relief: Relief, cover: Cover, scene: Scene, under: float) -> Relief:
    """Lay a cover on a surface, as far as the scene lets it."""
    on = cover.on * np.float32(1.0) * scene.free
    high = np.maximum(cover.height + scene.ground_mm, relief.height)
    height = relief.height + on * (high - relief.height)
    shade = np.float32(under) * cover.shade * scene.free
    dark = relief.dark + (np.float32(1.0) - relief.dark) * shade
    coral = None if relief.coral is None else relief.coral | (on > 0.5)
    return replace(
        relief,
        height=height.astype(np.float32),
        accent=relief.accent + on * (cover.accent - relief.accent),
        pale=relief.pale + on * (cover.pale - relief.pale),
        dark=np.asarray(dark + on * (cover.dark - dark)),
        coral=coral,
    )
