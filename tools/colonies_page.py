"""Write the page of rendered practice colonies, and its pictures.

Run from anywhere, after a change to the rendering or to the tables::

    python tools/colonies_page.py
"""

from __future__ import annotations

import html
from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from corallum.actions.references import Library
from corallum.draw.surface import (
    PRACTICE_VIEW,
    Rendered,
    SurfaceParameters,
    draw_parameters,
    render_colony,
)
from corallum.draw.surface.label import write_label
from corallum.model.compiled import CompiledReference

__all__ = ["FOLDER", "ITEMS", "PAGE", "Item", "caption_of", "draw_item", "page_of", "picture_of"]

FOLDER = Path(__file__).resolve().parent.parent / "docs/reference/colonies"
PAGE = FOLDER / "index.md"
SIZE = (400, 300)
MOST_BYTES = 30_000
SEED, MOST_TRIES = 7, 400

_HEAD = """# Practice colonies

Close-ups of coral surfaces, drawn by code from numbers and states of the reference. **They are \
drawings, not photographs**, of no colony that lives; each says so along its lower edge. They are \
to practise with and to try measurement where the truth is known: beside each picture stand its \
centres, diameters, middle lines of valleys, pixels per millimetre and camera.

A colony of a genus is drawn from one form of it: states by their shares, sizes by their \
distribution. What the reference does not say is not to be read out of a picture: the shade of a \
colour, the places of things, how far a tentacle reaches. What expanded polyps hide, the picture \
hides. This page is written by `tools/colonies_page.py`.

<style>
.colonies { display: flex; flex-wrap: wrap; gap: 1rem; margin: 0 0 1.5rem; padding: 0; }
.colonies figure { margin: 0; width: 15rem; max-width: 100%; }
.colonies img { width: 100%; height: auto; display: block; }
.colonies figcaption { font-size: .72rem; margin: .3rem 0 0; max-width: none; text-align: left; }
</style>
"""
_WORDS = {
    "plocoid": "corallites with walls of their own",
    "cerioid": "corallites that share their walls",
    "phaceloid": "corallites as tubes that stand apart",
    "dendroid": "corallites at the ends of branching stems",
    "meandroid": "valleys that share their walls",
    "flabello_meandroid": "valleys with walls of their own",
    "hydnophoroid": "conical hills with the polyps between",
    "thamnasterioid": "no walls; septa run from centre to centre",
    "polystomatous": "many mouths on one surface, no walls",
    "solitary": "one polyp",
    "pores_one_size": "pores of one size",
    "pores_two_sizes": "large pores among small ones",
    "pore_rows": "pores in rows along the edges of branches",
    "cyclosystems": "a pore in a ring of slits, many times",
    "tubes": "tubes without septa",
}
_SCENES = {
    "close_up": "",
    "branch_tip": "The tip of a branch with its axial corallite",
    "plate_margin": "The growing margin of a plate",
    "stalked_young": "A young disc on its stalk",
}
_CALICES = ("plocoid", "cerioid", "phaceloid", "dendroid")
_VALLEYS = ("meandroid", "flabello_meandroid")
_PORES = ("pores_one_size", "pores_two_sizes", "pore_rows", "cyclosystems")
# What a colony may show besides, in words, and the arrangements that it is drawn on.
_EXTRAS = {
    "verrucae": ("mounds that bear corallites", _CALICES),
    "monticules": ("cones between the centres", (*_CALICES, *_VALLEYS, "polystomatous")),
    "concentric_ridges": ("ridges along the margin", (*_VALLEYS, "thamnasterioid", "plocoid")),
    "rows": ("corallites in rows", ("plocoid",)),
    "hood": ("a hood over each calice", ("plocoid",)),
    "costal_pits": ("pits at the foot of the corallites", ("plocoid",)),
    "paliform_crown": ("a crown of lobes", (*_CALICES, *_VALLEYS)),
    "fine_hairs": ("a fuzz of fine hairs", _PORES),
    "groove": ("a groove between the walls", ("plocoid", "cerioid", "meandroid")),
}
_EXPANSIONS = {
    "short_tentacles": "a fringe of short tentacles",
    "long_polyps": "long tentacles spread",
    "vesicles": "swollen bubbles of tissue",
}
_TIPS = {"knobbed": "their tips knobbed", "anchor": "their tips like anchors",
         "branched": "their tips branched"}  # fmt: skip
_VIEWS = {
    "oblique_degrees": "seen {:g} degrees aslant",
    "water": "through much water",
    "blur_px": "blurred",
    "scale_bar": "with a ruler",
}


@dataclass(frozen=True)
class Item:
    """One picture: of which form, what it must show, and how it is looked at.

    Attributes
    ----------
    name : str
        Of the file.
    genus, form : str
        Of the reference.
    shows : dict
        Parameters that the colony must have, of those that its form can have.
    scene : str
        One of the scenes of a surface.
    view : dict
        Options of the view that differ from those for practice.
    units : float
        Spacings (or widths of valleys) across the picture; 0 lets it be chosen.
    """

    name: str
    genus: str
    form: str
    shows: dict[str, Any]
    scene: str = "close_up"
    view: dict[str, Any] = field(default_factory=dict)
    units: float = 9.0


_DRAWN_IN = {"expansion": "retracted"}
_LONG = {"expansion": "long_polyps"}
ITEMS = (
    Item("plocoid", "Dipsastraea", "plocoid", {"arrangement": "plocoid", **_DRAWN_IN}),
    Item("cerioid", "Goniastrea", "cerioid", {"arrangement": "cerioid", **_DRAWN_IN}),
    Item("cerioid-large", "Favites", "cerioid", {"arrangement": "cerioid", **_DRAWN_IN},
         view={"scale_bar": True}),
    Item("phaceloid", "Caulastraea", "phaceloid_large", {"arrangement": "phaceloid", **_DRAWN_IN}),
    Item("dendroid", "Tubastraea", "tree", {"arrangement": "dendroid", **_DRAWN_IN}),
    Item("meandroid", "Platygyra", "long_valleys", {"arrangement": "meandroid", **_DRAWN_IN}),
    Item("flabello-meandroid", "Trachyphyllia", "free_lobed",
         {"arrangement": "flabello_meandroid", **_DRAWN_IN}, units=5.0),
    Item("hydnophoroid", "Hydnophora", "massive", {"arrangement": "hydnophoroid", **_DRAWN_IN}),
    Item("thamnasterioid", "Psammocora", "encrusting",
         {"arrangement": "thamnasterioid", **_DRAWN_IN}),
    Item("polystomatous", "Podabacia", "typical", {"arrangement": "polystomatous", **_DRAWN_IN}),
    Item("solitary", "Fungia", "disc", {"arrangement": "solitary", **_DRAWN_IN}, units=0.0),
    Item("pores-two-sizes", "Millepora", "plates",
         {"arrangement": "pores_two_sizes", "fine_hairs": True}, units=7.0),
    Item("pores-one-size", "Heliopora", "fronds_columns", {"arrangement": "pores_one_size"}),
    Item("pore-rows", "Distichopora", "typical", {"arrangement": "pore_rows"}, units=18.0),
    Item("cyclosystems", "Stylaster", "typical",
         {"arrangement": "cyclosystems", "fine_hairs": False}),
    Item("tubes", "Tubipora", "typical", {"tentacles": "eight_pinnate", **_LONG}),
    Item("branch-tip", "Acropora", "staghorn", {"relief": "tubular", **_DRAWN_IN},
         scene="branch_tip", units=8.0),
    Item("plate-margin", "Mycedium", "plate", {"tilt": "towards_edge"}, scene="plate_margin"),
    Item("stalked-young", "Fungia", "juvenile_stalked", _DRAWN_IN, scene="stalked_young",
         units=0.0),
    Item("mounds", "Pocillopora", "stout", {"verrucae": True, **_DRAWN_IN},
         view={"scale_bar": True}, units=15.0),
    Item("ridges", "Pachyseris", "plate", {"concentric_ridges": True},
         view={"oblique_degrees": 40.0}),
    Item("crowns", "Goniopora", "long_polyps", _LONG, units=6.0),
    Item("anchors", "Fimbriaphyllia", "flabello_meandroid", {"tentacle_tip": "anchor", **_LONG},
         view={"water": 0.8, "blur_px": 3.5}, units=3.0),
    Item("vesicles", "Plerogyra", "phaceloid", {"expansion": "vesicles"}, units=4.0),
)  # fmt: skip


def draw_item(compiled: CompiledReference, item: Item) -> tuple[SurfaceParameters, Rendered]:
    """Draw colonies of an item's form until one shows what it should; render it at full size."""
    genus = compiled.genera.index(item.genus)
    form = next(
        int(f)
        for f in np.flatnonzero(compiled.form_genus == genus)
        if compiled.form_ids[f] == item.form
    )
    rng = np.random.default_rng(SEED)
    for _ in range(MOST_TRIES):
        params = draw_parameters(compiled, form, rng, item.scene, expanded=True)
        if all(getattr(params, name) == state for name, state in item.shows.items()):
            break
    else:
        raise AssertionError(f"{item.genus} {item.form} never shows {item.shows}")
    unit = params.valley_width_mm or params.spacing_mm
    scale = 1600.0 / (item.units * unit) if item.units else None
    options = replace(PRACTICE_VIEW, **item.view, px_per_mm=scale, label=False)
    return params, render_colony(params, options, rng)


def picture_of(rendered: Rendered) -> bytes:
    """Shrink a picture, label it, and return it as a small webp file."""
    small = Image.fromarray(rendered.image).resize(SIZE, Image.Resampling.LANCZOS)
    labelled = Image.fromarray(write_label(np.asarray(small)))
    for quality in range(80, 20, -6):
        file = BytesIO()
        labelled.save(file, "WEBP", quality=quality, method=6)
        if file.tell() <= MOST_BYTES:
            return file.getvalue()
    raise AssertionError(f"a picture of {SIZE} does not fit into {MOST_BYTES} bytes")


def caption_of(item: Item, params: SurfaceParameters, rendered: Rendered) -> str:
    """Say what a picture shows: how corallites meet, what else, and how it is looked at."""
    parts = [_SCENES[item.scene]] if _SCENES[item.scene] else []
    parts.append(_WORDS[params.arrangement])
    parts += [
        words
        for name, (words, arrangements) in _EXTRAS.items()
        if getattr(params, name) and params.arrangement in arrangements
        if not rendered.truth.covered
    ]
    if params.tilt == "towards_edge" and params.arrangement == "plocoid":
        parts.append("corallites lean to the margin")
    if params.expansion != "retracted":
        parts.append(_EXPANSIONS[params.expansion])
        if params.tentacles == "eight_pinnate":
            parts.append("eight to a polyp, feathered")
        elif params.expansion == "long_polyps" and params.tentacle_tip in _TIPS:
            parts.append(_TIPS[params.tentacle_tip])
    looks = [words.format(item.view[name]) for name, words in _VIEWS.items() if item.view.get(name)]
    sentence = "; ".join([*parts, *looks])
    return f"{sentence[0].upper()}{sentence[1:]}. {_sizes(params, rendered)}"


def _sizes(params: SurfaceParameters, rendered: Rendered) -> str:
    """Say the sizes of a picture in mm, and how wide it is."""
    truth = rendered.truth
    wide = f"Picture {rendered.image.shape[1] / truth.px_per_mm:.0f} mm wide."
    if truth.valley_width_mm is not None:
        return f"Valleys {truth.valley_width_mm:.1f} mm from crest to crest. {wide}"
    if params.arrangement == "solitary":
        return f"Disc {params.calice_diameter_mm:.0f} mm. {wide}"
    apart = f"{truth.unit.capitalize()}s {params.spacing_mm:.1f} mm apart"
    if params.arrangement in ("cerioid", "thamnasterioid", "polystomatous", "hydnophoroid"):
        return f"{apart}. {wide}"
    return f"{apart}, {truth.calice_diameter_mm:.1f} mm across. {wide}"


def page_of(shown: list[tuple[Item, str]]) -> str:
    """Return the page, from items and their captions."""
    figures = []
    for item, caption in shown:
        alt = html.escape(f"Drawing, not a photograph: {item.genus}. {caption}")
        figures.append(
            f'<figure><img src="{item.name}.webp" width="{SIZE[0]}" height="{SIZE[1]}" '
            f'loading="lazy" alt="{alt}"><figcaption><em>{item.genus}</em>, form '
            f"<code>{item.form}</code>. {html.escape(caption)}</figcaption></figure>"
        )
    return _HEAD + '\n<div class="colonies">\n' + "\n".join(figures) + "\n</div>\n"


def main() -> None:
    """Write the pictures, then the page."""
    compiled = Library().compiled
    FOLDER.mkdir(exist_ok=True)
    shown = []
    for item in ITEMS:
        params, rendered = draw_item(compiled, item)
        (FOLDER / f"{item.name}.webp").write_bytes(picture_of(rendered))
        shown.append((item, caption_of(item, params, rendered)))
    PAGE.write_text(page_of(shown), encoding="utf-8")


if __name__ == "__main__":
    main()
