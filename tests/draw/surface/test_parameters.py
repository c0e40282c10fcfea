"""Parameters drawn from the reference: sizes that go together, states as the reference says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from corallum.draw.surface import (
    SurfaceError,
    SurfaceParameters,
    ViewOptions,
    draw_parameters,
    render_colony,
    scenes_of,
)
from corallum.draw.surface.parameters import STATES
from corallum.errors import CorallumError
from support import compiled


def form_of(genus: str, form: str) -> int:
    """Index of a form."""
    reference = compiled()
    of_genus = reference.form_genus == reference.genera.index(genus)
    return next(int(f) for f in np.flatnonzero(of_genus) if reference.form_ids[f] == form)


def test_every_form_gives_parameters_that_go_together() -> None:
    """Centres are never nearer than a calice is wide, and valleys have a width."""
    rng = np.random.default_rng(0)
    for form in range(len(compiled().form_ids)):
        params = draw_parameters(compiled(), form, rng)
        if params.arrangement not in ("meandroid", "flabello_meandroid"):
            assert params.spacing_mm >= params.calice_diameter_mm
        else:
            assert params.valley_width_mm is not None


def test_a_seed_draws_the_same_parameters() -> None:
    """Nothing but the generator decides."""
    form = form_of("Favites", "cerioid")

    one, same = (draw_parameters(compiled(), form, np.random.default_rng(3)) for _ in range(2))

    assert one == same


def test_states_are_drawn_by_their_shares() -> None:
    """Of 400 colonies, the share of an arrangement is within 4 standard errors of the reference."""
    form = form_of("Favites", "cerioid")
    character = compiled().characters[compiled().character_index["corallite_arrangement"]]
    expected = character.true[form][character.states.index("cerioid")]
    rng = np.random.default_rng(4)

    drawn = [draw_parameters(compiled(), form, rng).arrangement for _ in range(400)]

    error = np.sqrt(expected * (1.0 - expected) / 400.0)
    assert np.mean([a == "cerioid" for a in drawn]) == pytest.approx(expected, abs=4.0 * error)


def test_sizes_are_drawn_about_the_mean_of_the_reference() -> None:
    """The median of 400 calices is within 8 % of the reference's median."""
    form = form_of("Diploastrea", "typical")
    character = compiled().characters[compiled().character_index["calice_diameter_mm"]]
    rng = np.random.default_rng(5)

    drawn = [draw_parameters(compiled(), form, rng).calice_diameter_mm for _ in range(400)]

    assert np.median(drawn) == pytest.approx(np.exp(character.log_mean[form]), rel=0.08)


def test_genera_that_differ_in_size_differ_in_the_picture() -> None:
    """At one scale, large calices of one genus are fewer than small ones of another."""
    options = ViewOptions(px_per_mm=12.0, width=800, height=600)
    counts = []
    for genus, form in (("Diploastrea", "typical"), ("Porites", "boulder")):
        rng = np.random.default_rng(6)
        params = draw_parameters(compiled(), form_of(genus, form), rng)
        counts.append(len(render_colony(params, options, rng).truth.centres_px))

    assert counts[0] < counts[1] / 10


def test_scenes_are_offered_where_the_reference_has_them() -> None:
    """Staghorn has a branch tip, a plate coral a margin, a young mushroom coral its stalk."""
    assert scenes_of(compiled(), form_of("Acropora", "staghorn")) == ("close_up", "branch_tip")
    assert "plate_margin" in scenes_of(compiled(), form_of("Mycedium", "plate"))
    assert "stalked_young" in scenes_of(compiled(), form_of("Fungia", "juvenile_stalked"))
    assert scenes_of(compiled(), form_of("Platygyra", "long_valleys")) == ("close_up",)


def test_states_of_a_surface_are_those_of_the_scheme() -> None:
    """Every field takes the states of its character, "none" beside them where it does not apply."""
    reference = compiled()
    for field, (id_, states) in STATES.items():
        character = reference.characters[reference.character_index[id_]]
        assert set(character.states) == set(states) - ({"none"} if field == "texture" else set())


@pytest.mark.parametrize(
    ("genus", "form", "field", "usual"),
    [
        ("Mycedium", "plate", "tilt", "towards_edge"),
        ("Pocillopora", "stout", "verrucae", True),
        ("Seriatopora", "blunt", "rows", True),
        ("Stylophora", "typical", "hood", True),
        ("Pachyseris", "plate", "concentric_ridges", True),
        ("Echinophyllia", "plate", "costal_pits", True),
        ("Schizoculina", "crust_with_uprights", "uprights", True),
        ("Hydnophora", "massive", "monticules", True),
        ("Euphyllia", "long_tentacles", "expansion", "long_polyps"),
        ("Plerogyra", "phaceloid", "expansion", "vesicles"),
        ("Fimbriaphyllia", "flabello_meandroid", "tentacle_tip", "anchor"),
        ("Alveopora", "dome", "tentacles", "twelve"),
        ("Tubipora", "typical", "tentacles", "eight_pinnate"),
        ("Millepora", "branching", "fine_hairs", True),
    ],
)
def test_what_a_form_usually_shows_is_usually_drawn(
    genus: str, form: str, field: str, usual: object
) -> None:
    """Of 60 colonies more than half have the state that the reference calls usual."""
    rng = np.random.default_rng(8)
    index = form_of(genus, form)

    drawn = [
        getattr(draw_parameters(compiled(), index, rng, expanded=True), field) for _ in range(60)
    ]

    assert drawn.count(usual) > 30


def test_polyps_are_drawn_in_where_they_are_not_asked_for() -> None:
    """The same seed gives the same skeleton; only the polyps differ."""
    form = form_of("Goniopora", "long_polyps")

    measured = draw_parameters(compiled(), form, np.random.default_rng(2))
    met = draw_parameters(compiled(), form, np.random.default_rng(2), expanded=True)

    assert measured.expansion == "retracted"
    assert met.expansion == "long_polyps"
    drawn_in = replace(
        met, expansion="retracted", tentacle_tip=measured.tentacle_tip,
        tentacles=measured.tentacles, fine_hairs=False,
    )  # fmt: skip
    assert drawn_in == measured


@pytest.mark.parametrize(
    ("what", "lines"),
    [
        pytest.param(
            {"scene": "night"},
            "surface, scene: expected one of close_up, branch_tip, plate_margin, stalked_young, "
            "found 'night'. Choose one of these.",
            id="no scene",
        ),
        pytest.param(
            {"spacing_mm": 0.0, "tissue": "thick"},
            "surface, tissue: expected one of thin, moderate, fleshy, found 'thick'. "
            "Choose one of these.\n"
            "surface, spacing_mm: expected a number above 0, found 0. Give spacing_mm in mm.",
            id="two faults",
        ),
        pytest.param(
            {"arrangement": "meandroid"},
            "surface, valley_width_mm: expected a number above 0, found None. "
            "Give valley_width_mm in mm.",
            id="no width",
        ),
        pytest.param(
            {"calice_diameter_mm": float("nan")},
            "surface, calice_diameter_mm: expected a number above 0, found nan. "
            "Give calice_diameter_mm in mm.",
            id="no number",
        ),
        pytest.param(
            {"septa_count": 0},
            "surface, septa_count: expected 3 to 2000, found 0. "
            "Set septa_count within these bounds.",
            id="no septa",
        ),
        pytest.param(
            {"scene": "stalked_young"},
            "surface, scene: expected a solitary arrangement with stalked_young, found 'plocoid'. "
            "Set arrangement to solitary, or scene to close_up.",
            id="stalk of a colony",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused(what: dict[str, object], lines: str) -> None:
    """Each line says what was expected, what was found and what to do, one line a fault."""
    plain: dict[str, object] = {
        "arrangement": "plocoid", "spacing_mm": 5.0, "calice_diameter_mm": 3.0,
    }  # fmt: skip

    with pytest.raises(CorallumError) as caught:
        SurfaceParameters(**(plain | what))  # type: ignore[arg-type]

    assert str(caught.value) == lines
    assert isinstance(caught.value, SurfaceError)
    assert len(caught.value.faults) == lines.count("\n") + 1
