"""Parameters drawn from the reference: sizes that go together, states as the reference says."""

from __future__ import annotations

import numpy as np
import pytest

from corallum.draw.surface import (
    SurfaceParameters,
    ViewOptions,
    draw_parameters,
    render_colony,
    scenes_of,
)
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


@pytest.mark.parametrize(
    ("what", "start"),
    [
        ({"arrangement": "striped"}, "'striped' is no arrangement; one of plocoid,"),
        ({"scene": "night"}, "'night' is no scene; one of close_up,"),
        ({"spacing_mm": 0.0}, "spacing_mm and calice_diameter_mm must be above 0."),
        ({"arrangement": "meandroid"}, "meandroid needs valley_width_mm above 0."),
    ],
)
def test_what_cannot_be_drawn_is_refused(what: dict[str, object], start: str) -> None:
    """The line says what was found and what is wanted."""
    plain: dict[str, object] = {
        "arrangement": "plocoid", "spacing_mm": 5.0, "calice_diameter_mm": 3.0,
    }  # fmt: skip

    with pytest.raises(ValueError, match=r"\.$|plocoid|close_up") as caught:
        SurfaceParameters(**(plain | what))  # type: ignore[arg-type]

    assert str(caught.value).startswith(start)
