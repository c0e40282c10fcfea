"""Two forms that differ in the reference differ in the picture, in the way it says.

Each law: one parameter is changed, the seed is kept, and a measure that knows
nothing of the drawing must move by at least so much in the stated direction. Its
control: another seed, and another colour, must not move it so far. Directions come
from the definitions of the states in the scheme (states.csv).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest
import surface_measures as m
from scipy import ndimage
from surface_fields import Field, field_of, picture_of, waves_round

from corallum.draw.surface import SurfaceParameters

PLOCOID = SurfaceParameters("plocoid", 6.0, 3.6, texture="smooth", columella="absent")
CERIOID = replace(PLOCOID, arrangement="cerioid", calice_diameter_mm=5.6)
NET = replace(CERIOID, arrangement="thamnasterioid")
VALLEYS = replace(PLOCOID, arrangement="meandroid", valley_width_mm=6.0)
WIDE = replace(PLOCOID, spacing_mm=9.0, relief="flush")
PORES = SurfaceParameters("pores_one_size", 1.8, 0.5)
CROWNS = replace(CERIOID, expansion="long_polyps", tentacles="twenty_four")
LONG = replace(
    PLOCOID, arrangement="phaceloid", expansion="long_polyps", tentacle_tip="knobbed",
    spacing_mm=25.0, calice_diameter_mm=18.0,
)  # fmt: skip


@dataclass(frozen=True)
class Law:
    """A change, a measure, and how far it must move (below 0: fall)."""

    name: str
    base: SurfaceParameters
    change: dict[str, object]
    measure: Callable[[Field], float]
    least: float
    units: float = 9.0


LAWS = (
    Law("walls_are_shared", PLOCOID, {"arrangement": "cerioid"}, m.dip_at_border, -0.08),
    Law("tubes_stand_apart", PLOCOID, {"arrangement": "phaceloid"}, m.dip_at_border, 0.3),
    Law("septa_run_without_walls", CERIOID, {"arrangement": "thamnasterioid"},
        m.mid_over_centre, -0.15),
    Law("hills_are_centres", CERIOID, {"arrangement": "hydnophoroid"}, m.mid_over_centre, -0.5),
    Law("larger_calices", PLOCOID, {"calice_diameter_mm": 4.6}, m.crest_radius, 0.4),
    Law("indistinct_septa", PLOCOID, {"septa_relief": "indistinct"}, m.septal_depth, -0.04),
    Law("alternating_septa", replace(PLOCOID, septa_order="equal"),
        {"septa_order": "alternating"}, m.half_septal_waves, 0.1),
    Law("styliform_columella", PLOCOID, {"columella": "styliform"}, m.middle_over_floor, 0.5),
    Law("spongy_columella", PLOCOID, {"columella": "spongy"}, m.middle_over_floor, 0.3),
    Law("lamellar_columella", replace(PLOCOID, columella="styliform"),
        {"columella": "lamellar"}, m.middle_is_long, 0.05),
    Law("papillose_columella", replace(PLOCOID, columella="styliform"),
        {"columella": "papillose"}, m.pillars, 1.5),
    Law("paliform_crown", PLOCOID, {"paliform_crown": True}, m.ring_of_lobes, 0.06),
    Law("paliform_lobes_rise", PLOCOID, {"paliform_crown": True}, m.lobes_rise, 0.15),
    Law("spinose_texture", WIDE, {"texture": "spinose"}, m.roughness, 0.01),
    Law("tubercles_are_wider_than_papillae", replace(WIDE, texture="papillate"),
        {"texture": "tuberculate"}, m.grain_in_calices, 0.4),
    Law("papillae_are_wider_than_grains", replace(WIDE, texture="granular"),
        {"texture": "papillate"}, m.grain_in_calices, 0.2),
    Law("a_net_is_holes_not_spines", replace(WIDE, texture="spinose"),
        {"texture": "reticulate"}, m.skew_outside, -0.8),
    Law("costate_texture", PLOCOID, {"texture": "costate"}, m.ribs_outside, 0.2),
    Law("domes_stand_over_flush", replace(PLOCOID, relief="flush"), {"relief": "domed"},
        m.crest_over_ground, 0.15),
    Law("cones_stand_over_domes", PLOCOID, {"relief": "conical"}, m.crest_over_ground, 0.2),
    Law("tubes_stand_over_cones", replace(PLOCOID, relief="conical"), {"relief": "tubular"},
        m.crest_over_ground, 0.15),
    Law("immersed_lies_below_flush", replace(PLOCOID, relief="flush"), {"relief": "immersed"},
        m.crest_over_ground, -0.08),
    Law("groove_between", replace(PLOCOID, calice_diameter_mm=4.8), {"groove": True},
        m.narrow_dip, 0.03),
    Law("groove_on_the_wall", CERIOID, {"groove": True}, m.narrow_dip, 0.03),
    Law("flat_crest", replace(CERIOID, wall_crest="sharp"), {"wall_crest": "flat"},
        m.crest_width, 0.08),
    Law("septa_run_on", CERIOID, {"confluent": True}, m.match_across, 0.3),
    Law("short_valleys", VALLEYS, {"short_valleys": True}, m.valley_length, -3.0, 20.0),
    Law("leaning_corallites", PLOCOID, {"tilt": "towards_edge"}, m.lean_outwards, 0.4),
    Law("leaning_mouths", NET, {"tilt": "towards_edge"}, m.lean_inside, 0.08),
    Law("hoods", PLOCOID, {"hood": True}, m.lip_outwards, 0.25),
    Law("rows", PLOCOID, {"rows": True}, m.lie_in_lines, 0.4, 12.0),
    Law("verrucae", PLOCOID, {"verrucae": True}, m.wide_relief, 0.2, 14.0),
    Law("monticules", NET, {"monticules": True}, m.peaks_between, 0.2),
    Law("monticules_in_valleys", VALLEYS, {"monticules": True}, m.peaks_between, 0.15),
    Law("ridges_run_one_way", NET, {"concentric_ridges": True}, m.runs_one_way, 0.5, 12.0),
    Law("ridges_are_high", NET, {"concentric_ridges": True}, m.spread, 0.08, 12.0),
    Law("valleys_run_one_way", VALLEYS, {"concentric_ridges": True}, m.runs_one_way, 0.4, 14.0),
    Law("costal_pits", PLOCOID, {"costal_pits": True}, m.pits_at_foot, 0.1),
    Law("uprights", replace(PLOCOID, scene="plate_margin"), {"uprights": True},
        m.standing_out, 0.03, 20.0),
    Law("fine_hairs", PORES, {"fine_hairs": True}, m.fuzz, 0.02),
    Law("crowns_hide_calices", CERIOID, {"expansion": "long_polyps", "tentacles": "twelve"},
        m.mid_over_centre, -0.2),
    Law("a_fringe_on_the_wall", PLOCOID, {"expansion": "short_tentacles"}, m.fringe, 0.05),
    Law("vesicles_are_larger_than_tips", LONG, {"expansion": "vesicles"}, m.bump_width, 0.12, 4.0),
    Law("anchors_are_long", LONG, {"tentacle_tip": "anchor"}, m.tip_length, 0.4, 2.5),
    Law("branched_tips_are_many", LONG, {"tentacle_tip": "branched"}, m.tips, 100.0, 2.5),
)  # fmt: skip


@pytest.mark.parametrize("law", [pytest.param(law, id=law.name) for law in LAWS])
def test_one_change_shows_as_its_definition_says(law: Law) -> None:
    """The measure moves as far as asked, and neither another seed nor a colour moves it so far."""
    before = law.measure(field_of(law.base, 1, law.units))
    after = law.measure(field_of(replace(law.base, **law.change), 1, law.units))
    other_seed = law.measure(field_of(law.base, 2, law.units))
    other_colour = law.measure(field_of(replace(law.base, colour="very_dark"), 1, law.units))

    direction = np.sign(law.least)
    assert (after - before) * direction >= abs(law.least)
    assert abs(other_seed - before) < 0.6 * abs(law.least)
    assert other_colour == before


@pytest.mark.parametrize("count", [12, 24, 36, 96])
def test_spokes_round_a_disc_are_its_septa(count: int) -> None:
    """On a circle round a disc there are as many crests as septa, by counting."""
    disc = SurfaceParameters(
        "solitary", 60.0, 60.0, septa_count=count, septa_order="equal", septal_teeth="none"
    )
    ring = field_of(disc, 3, 1.3).rings(0.6, 1440)[0]

    high = ring > ndimage.uniform_filter1d(ring, 2 * 1440 // count, mode="wrap")

    assert (high & ~np.roll(high, 1)).sum() == count


@pytest.mark.parametrize("count", [12, 24, 36])
@pytest.mark.parametrize("arrangement", ["plocoid", "cerioid"])
def test_spokes_in_a_calice_are_its_septa(arrangement: str, count: int) -> None:
    """Over all calices the strongest number of waves is within a tenth of the septa."""
    base = PLOCOID if arrangement == "plocoid" else CERIOID
    field = field_of(replace(base, septa_count=count, septa_order="equal"), 4)

    power = waves_round(field.rings(0.62))

    assert 4 + int(np.argmax(power[4:100])) == pytest.approx(count, rel=0.1)


@pytest.mark.parametrize(
    ("state", "count"), [("eight_pinnate", 8), ("twelve", 12), ("twenty_four", 24)]
)
def test_arms_of_a_crown_are_its_tentacles(state: str, count: int) -> None:
    """The strongest number of waves round crowns is the number of the state."""
    # Of two rings of tentacles, half stand a little back: either number is seen.
    found = m.crown_arms(field_of(replace(CROWNS, tentacles=state), 5, 6.0))

    assert found == count


def radial_wave(teeth: str) -> tuple[float, float]:
    """Length in shares of the radius, and depth, of waves along the septa of a disc."""
    disc = SurfaceParameters(
        "solitary", 60.0, 60.0, septa_count=24, septa_order="equal", septal_teeth=teeth
    )
    field = field_of(disc, 3, 1.3)
    shares = np.linspace(0.4, 0.85, 256)
    angles = 2.0 * np.pi * np.arange(720) / 720.0
    places = 30.0 * shares[None, :, None] * np.stack([np.cos(angles), np.sin(angles)], -1)[:, None]
    lines = field.at(places)
    # The highest lines run along the septa.
    crests = lines[lines.mean(axis=1) > np.percentile(lines.mean(axis=1), 85.0)]
    trend = np.polynomial.polynomial.polyfit(shares, crests.T, 3)
    rest = crests - np.polynomial.polynomial.polyval(shares, trend)
    power = (np.abs(np.fft.rfft(rest * np.hanning(256), axis=1)) ** 2).sum(axis=0)
    waves = 2 + int(np.argmax(power[2:100]))
    return float(0.45 / waves), float(rest.std())


def test_teeth_differ_in_length_and_depth() -> None:
    """Septa without teeth are even; spines are longer than fine teeth, and lobes than spines."""
    lengths, depths = zip(*(radial_wave(s) for s in ("fine", "spiny", "lobed")), strict=True)
    _, smooth = radial_wave("none")

    assert lengths[0] < 0.6 * lengths[1] < 0.6 * 0.8 * lengths[2]
    assert smooth < 0.25 * min(depths)


def test_thicker_tissue_leaves_less_detail() -> None:
    """Mean difference of neighbouring pixels falls from thin to moderate to fleshy."""
    detail = [
        np.abs(np.diff(picture_of(replace(CERIOID, tissue=t)).mean(axis=2), axis=1)).mean()
        for t in ("thin", "moderate", "fleshy")
    ]

    assert detail[1] < 0.95 * detail[0]
    assert detail[2] < 0.8 * detail[1]


def test_colours_are_those_named() -> None:
    """Orange is red over blue, purple blue over green, very dark dark, white without a tint."""

    def mean(colour: str) -> np.ndarray:
        return picture_of(replace(CERIOID, colour=colour)).mean(axis=(0, 1))

    orange, pink = mean("bright_orange_or_yellow"), mean("pink_or_red")
    purple, white = mean("blue_or_purple"), mean("grey_or_white")
    dark, cream = mean("very_dark"), mean("cream_or_yellow")
    assert orange[0] > 1.5 * orange[2]
    assert pink[0] > 1.2 * max(pink[1:])
    assert purple[2] > 1.1 * purple[1]
    assert white.max() < 1.12 * white.min()
    # Pictures are exposed for their brightest part, so only a very dark one is darker.
    assert dark.max() < 0.8 * min(c.max() for c in (orange, pink, purple, white, cream))
    assert cream[0] > cream[1] > cream[2]


def test_wider_valleys_are_wider_on_the_surface() -> None:
    """Ridges along a line are as far apart as the widths say: twice the width, half as many."""

    def crossings(width: float) -> float:
        field = field_of(replace(VALLEYS, valley_width_mm=width), 6, 20.0)
        smooth = ndimage.gaussian_filter(field.relief.height, 0.15 * width * field.px_per_mm)
        high = smooth > np.median(smooth)
        return float(np.diff(high[::20].astype(int), axis=1).clip(0).sum())

    assert crossings(6.0) / crossings(12.0) == pytest.approx(2.0, rel=0.25)
