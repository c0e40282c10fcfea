"""Rendered practice colonies: close-ups of a surface of known sizes, drawn and not photographed."""

from corallum.draw.surface.colony import render_colony
from corallum.draw.surface.parameters import (
    ARRANGEMENTS,
    SCENES,
    SurfaceParameters,
    draw_parameters,
    scenes_of,
)
from corallum.draw.surface.view import Rendered, Truth, ViewOptions

__all__ = [
    "ARRANGEMENTS",
    "SCENES",
    "Rendered",
    "SurfaceParameters",
    "Truth",
    "ViewOptions",
    "draw_parameters",
    "render_colony",
    "scenes_of",
]
