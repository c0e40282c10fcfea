"""What a surface looks like, in few numbers and states.

States are those of the scheme, so that two genera differ in a picture where, and
only where, the reference says that they differ.
"""

from __future__ import annotations

from dataclasses import dataclass

from corallum.draw.surface.refusals import Refusals

__all__ = ["ARRANGEMENTS", "SCENES", "STATES", "VALLEYED", "SurfaceParameters"]

ARRANGEMENTS = (
    "plocoid", "cerioid", "phaceloid", "dendroid", "meandroid", "flabello_meandroid",
    "hydnophoroid", "thamnasterioid", "polystomatous", "solitary", "pores_one_size",
    "pores_two_sizes", "pore_rows", "cyclosystems", "tubes",
)  # fmt: skip
SCENES = ("close_up", "branch_tip", "plate_margin", "stalked_young")
VALLEYED = ("meandroid", "flabello_meandroid")
# Field, then the character of the scheme whose states it takes, and these states.
STATES = {
    "relief": ("corallite_relief", ("immersed", "flush", "domed", "conical", "tubular")),
    "septal_teeth": ("septal_teeth", ("none", "fine", "spiny", "lobed")),
    "columella": ("columella", ("absent", "styliform", "spongy", "lamellar", "papillose")),
    "texture": ("coenosteum_texture", (
        "none", "smooth", "granular", "spinose", "papillate", "tuberculate", "reticulate",
        "ridged", "costate", "vesicular",
    )),
    "tissue": ("tissue", ("thin", "moderate", "fleshy")),
    "colour": ("living_colour", (
        "brown_or_green", "cream_or_yellow", "bright_orange_or_yellow", "pink_or_red",
        "blue_or_purple", "grey_or_white", "very_dark",
    )),
    "septa_order": ("septa_order", ("equal", "alternating", "unequal")),
    "septa_relief": ("septa_relief", ("indistinct", "even", "prominent")),
    "wall_crest": ("wall_crest", ("sharp", "rounded", "flat")),
    "tilt": ("corallite_tilt", ("upright", "towards_edge")),
    "expansion": ("day_expansion", ("retracted", "short_tentacles", "long_polyps", "vesicles")),
    "tentacle_tip": ("tentacle_tip", ("tapered", "knobbed", "anchor", "branched")),
    "tentacles": ("tentacle_count", ("eight_pinnate", "twelve", "twenty_four", "many")),
}  # fmt: skip
_MOST_SEPTA = 2000


@dataclass(frozen=True, slots=True)
class SurfaceParameters:
    """One colony surface; states are those of the scheme, sizes in mm.

    Parameters
    ----------
    arrangement : str
        One of ARRANGEMENTS.
    spacing_mm : float
        Mean distance between adjacent centres (hills, where hydnophoroid; along
        the valley, where meandroid; along the row, where pores stand in rows).
    calice_diameter_mm : float
        Inside the wall; the whole disc where solitary; the large pore of pores.
    valley_width_mm : float or None
        From crest to crest; needed for valleys.
    relief : str
        State of corallite_relief.
    septa_count : int
        Septa of one calice.
    septal_teeth, columella, texture, tissue, colour : str
        States of septal_teeth, columella, coenosteum_texture, tissue and
        living_colour.
    paliform_crown : bool
        A ring of lobes around the columella.
    scene : str
        One of SCENES; other than ``close_up`` shows colony form.
    septa_order, septa_relief, wall_crest : str
        States of these characters.
    groove : bool
        A groove on the crest or between neighbours.
    confluent : bool
        Septa run on into those of the neighbour.
    short_valleys : bool
        Valleys with up to three mouths.
    tilt : str
        State of corallite_tilt; drawn where corallites stand apart or lack walls.
    hood : bool
        A lip arches over one side of each calice; drawn where plocoid.
    rows : bool
        Corallites in lines along the branch; drawn where plocoid.
    verrucae : bool
        Mounds wider than a corallite that bear corallites.
    monticules : bool
        Cones between the centres; where hydnophoroid they are there anyhow.
    concentric_ridges : bool
        Ridges parallel to the margin, with the centres between them.
    costal_pits : bool
        Pits between the ribs at the foot of the corallite; drawn where plocoid.
    uprights : bool
        Columns that rise from a plate; drawn in the scene ``plate_margin``.
    expansion, tentacle_tip, tentacles : str
        States of day_expansion, tentacle_tip and tentacle_count: what the polyps
        show, and so what they hide.
    fine_hairs : bool
        A fuzz of hair-fine polyps, as of hydrocorals.
    """

    arrangement: str
    spacing_mm: float
    calice_diameter_mm: float
    valley_width_mm: float | None = None
    relief: str = "domed"
    septa_count: int = 24
    septal_teeth: str = "fine"
    columella: str = "spongy"
    paliform_crown: bool = False
    texture: str = "granular"
    tissue: str = "thin"
    colour: str = "brown_or_green"
    scene: str = "close_up"
    septa_order: str = "alternating"
    septa_relief: str = "even"
    wall_crest: str = "rounded"
    groove: bool = False
    confluent: bool = False
    short_valleys: bool = False
    tilt: str = "upright"
    hood: bool = False
    rows: bool = False
    verrucae: bool = False
    monticules: bool = False
    concentric_ridges: bool = False
    costal_pits: bool = False
    uprights: bool = False
    expansion: str = "retracted"
    tentacle_tip: str = "tapered"
    tentacles: str = "many"
    fine_hairs: bool = False

    def __post_init__(self) -> None:
        """Refuse what can't be drawn, all faults at once."""
        refusals = Refusals("surface")
        refusals.state("arrangement", self.arrangement, ARRANGEMENTS)
        refusals.state("scene", self.scene, SCENES)
        for field, (_, states) in STATES.items():
            refusals.state(field, getattr(self, field), states)
        refusals.positive("spacing_mm", self.spacing_mm)
        refusals.positive("calice_diameter_mm", self.calice_diameter_mm)
        if self.arrangement in VALLEYED:
            refusals.positive("valley_width_mm", self.valley_width_mm)
        refusals.bounds("septa_count", self.septa_count, 3, _MOST_SEPTA)
        if self.scene == "stalked_young" and self.arrangement != "solitary":
            refusals.add(
                "scene", "a solitary arrangement with stalked_young", repr(self.arrangement),
                "Set arrangement to solitary, or scene to close_up.",
            )  # fmt: skip
        refusals.raise_any()
