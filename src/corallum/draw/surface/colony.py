"""A practice colony: a picture of a surface of known sizes, with its truth.

The picture is drawn from numbers, pixel by pixel, and says so in its truth. What
it leaves out: nothing hides behind a hill however oblique the view, since heights
act on the light only; and the plane of the truth is that of the calices' crests.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from corallum.draw.surface.camera import Camera, aim_camera
from corallum.draw.surface.height import raise_surface
from corallum.draw.surface.label import write_label
from corallum.draw.surface.layout import OWN_CREST, Layout, lay_out, mean_spacing
from corallum.draw.surface.parameters import VALLEYED, SurfaceParameters
from corallum.draw.surface.polyps import hides, spread_polyps
from corallum.draw.surface.refusals import Refusals
from corallum.draw.surface.ruler import Ruler, lay_ruler
from corallum.draw.surface.scene import Scene, raise_scene
from corallum.draw.surface.shade import finish_picture, light_relief, smooth_tissue
from corallum.draw.surface.view import Rendered, Truth, ViewOptions

__all__ = ["render_colony"]

_FEWEST, _MOST = 8.0, 20.0
_DISC_SHARE = 0.8
_TISSUE_OF_DISC = 0.18
# Polyps that hide their calices are shown from nearer: fewer units across.
_EXPANDED = 0.5
# Smaller units show neither septa nor pores, and there would be too many of them.
_LEAST_UNIT_PX = 14.0


def render_colony(
    params: SurfaceParameters, options: ViewOptions, rng: np.random.Generator
) -> Rendered:
    """Render a surface.

    Use it for practice and to try measurement where the truth must be known; it
    is no substitute for photographs where those can be had.

    Parameters
    ----------
    params : SurfaceParameters
        What the surface looks like.
    options : ViewOptions
        How it is looked at.
    rng : numpy.random.Generator
        Draws everything that differs between two pictures of the same surface.

    Returns
    -------
    Rendered
        Picture and truth; the same for the same arguments and seed.

    Raises
    ------
    SurfaceError
        Where the asked scale makes a unit narrower than 14 px.

    Examples
    --------
    >>> import numpy as np
    >>> params = SurfaceParameters("cerioid", spacing_mm=6.0, calice_diameter_mm=6.0)
    >>> rendered = render_colony(params, ViewOptions(width=160, height=120),
    ...                          np.random.default_rng(1))
    >>> rendered.image.shape, rendered.truth.kind, round(rendered.truth.spacing_mm, 1)
    ((120, 160, 3), 'drawing', 6.0)
    """
    camera = aim_camera(_scale(params, options, rng), options, rng)
    grid = camera.grid_mm()
    if params.scene == "close_up":
        layout = lay_out(params, camera, rng)
        scene = Scene(raise_surface(params, layout, *grid, rng), layout, layout.centres, grid)
    else:
        scene = raise_scene(params, camera, grid, rng)
    # Tissue is as thick on a large disc as on a calice of a few of its septa.
    share = _TISSUE_OF_DISC if params.arrangement == "solitary" else 1.0
    unit_px = share * camera.px_per_mm * _unit_mm(params)
    covered = smooth_tissue(scene.relief, params.tissue, unit_px)
    relief = spread_polyps(replace(scene.relief, height=covered), params, scene, rng)
    light = light_relief(relief, camera, grid, params.colour, rng)
    ruler = None
    if options.scale_bar:
        light, ruler = lay_ruler(light, camera, grid)
    image = finish_picture(light, options, rng)
    if options.label:
        image = write_label(image)
    return Rendered(image, _truth(params, camera, scene, ruler))


def _unit_mm(params: SurfaceParameters) -> float:
    """Width of what repeats, or of a single disc."""
    if params.arrangement == "solitary":
        return params.calice_diameter_mm
    if params.arrangement in VALLEYED and params.valley_width_mm is not None:
        return params.valley_width_mm
    return params.spacing_mm


def _scale(params: SurfaceParameters, options: ViewOptions, rng: np.random.Generator) -> float:
    """Pixels per mm: as asked, or such that the picture is well filled."""
    units = float(rng.uniform(_FEWEST, _MOST))
    if options.px_per_mm is not None:
        unit_px = options.px_per_mm * _unit_mm(params)
        if unit_px < _LEAST_UNIT_PX:
            refusals = Refusals("view")
            refusals.add(
                "px_per_mm",
                f"a scale at which a unit is {_LEAST_UNIT_PX:g} px wide or more",
                f"{options.px_per_mm:g}, where it is {unit_px:.1f} px",
                f"Set px_per_mm to {_LEAST_UNIT_PX / _unit_mm(params):.3g} or more, or to None.",
            )
            refusals.raise_any()
        return options.px_per_mm
    if params.arrangement == "solitary":
        share = 0.55 if params.scene == "stalked_young" else 1.0
        return share * _DISC_SHARE * options.height / params.calice_diameter_mm
    if hides(params) and params.arrangement != "tubes":
        units *= _EXPANDED
    if params.scene == "branch_tip":
        units = 0.6 * _FEWEST + 0.2 * units
    return options.width / (units * _unit_mm(params))


def _truth(params: SurfaceParameters, camera: Camera, scene: Scene, ruler: Ruler | None) -> Truth:
    """What is so, of the units in view."""
    layout, shown = scene.layout, scene.shown_mm
    in_sight = np.isfinite(shown[:, 0])
    visible = in_sight & camera.sees(np.where(in_sight[:, None], shown, 1e9))
    diameters = 2.0 * layout.radii[visible]
    spacing = mean_spacing(layout.centres, visible, layout.rows)
    axes = () if layout.field is None else layout.field.axes
    return Truth(
        arrangement=params.arrangement,
        scene=params.scene,
        unit=layout.unit,
        centres_px=camera.to_px(shown[visible]),
        centres_mm=shown[visible],
        diameters_mm=diameters,
        spacing_mm=spacing,
        calice_diameter_mm=float(diameters.mean()) if len(diameters) else float("nan"),
        valley_width_mm=_mean_width(params, camera, layout),
        valley_axes_px=tuple(camera.to_px(a) for a in axes if camera.sees(a).any()),
        px_per_mm=camera.px_per_mm,
        homography=camera.homography,
        ruler_px=None if ruler is None else camera.to_px(ruler.ends_mm),
        ruler_mm=None if ruler is None else ruler.length_mm,
        covered=hides(params),
    )


def _mean_width(params: SurfaceParameters, camera: Camera, layout: Layout) -> float | None:
    """Mean width of the valleys in view, mm; None where there are none."""
    if layout.field is None:
        return None
    own_walls = params.arrangement == "flabello_meandroid"
    points, widths = layout.field.widths(OWN_CREST if own_walls else None)
    seen = camera.sees(points)
    return float(widths[seen].mean()) if seen.any() else None
