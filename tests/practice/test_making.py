"""Single items: the same again from the same seed, true to their form, and their best exact."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from corallum.model.prior import genus_prior
from corallum.practice.item import Item
from corallum.practice.looks import TOLD
from corallum.practice.making import Maker, Wish, item_surface
from support import compiled

REGION = "indo_pacific"
KINDS = ("rendered", "described")


@cache
def maker() -> Maker:
    """A maker for one region."""
    return Maker(compiled(), REGION)


def form_of(genus: str, form: str = "") -> int:
    """Index of the first form of a genus, or of one by its id."""
    starts = compiled().genus_starts
    g = compiled().genera.index(genus)
    forms = range(int(starts[g]), int(starts[g + 1]))
    return next(f for f in forms if not form or compiled().form_ids[f] == form)


@cache
def one_of_each() -> tuple[Item, ...]:
    """Every form of the reference, drawn and told in words."""
    rng = np.random.default_rng(11)
    return tuple(
        maker().make(Wish(f, "x", kind=kind), rng)
        for f in range(compiled().n_forms - 1)
        for kind in KINDS
    )


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_seed_makes_the_same_item(kind: str) -> None:
    """Seeds alike give items alike, others another colony."""
    wish = Wish(form_of("Favites"), "x", kind=kind)
    one, other, third = (maker().make(wish, np.random.default_rng(s)) for s in (1, 1, 2))
    assert one == other
    assert one.shown != third.shown or one.seed != third.seed


def test_the_picture_can_be_drawn_again_from_the_item() -> None:
    """What is drawn from an item's seed has the looks that the item shows."""
    for item in one_of_each()[::20]:
        form = form_of(item.genus, item.form)
        drawn = item_surface(compiled(), form, item.seed, item.scene)
        assert item.shown["corallite_arrangement"] == drawn.arrangement
        if "calice_diameter_mm" in item.pictured:
            assert item.shown["calice_diameter_mm"] == round(drawn.calice_diameter_mm, 2)


def test_every_form_can_be_made() -> None:
    """All forms, drawn and told: genus and form are as wished, and something is shown."""
    found = iter(one_of_each())
    for f in range(compiled().n_forms - 1):
        for kind in KINDS:
            item = next(found)
            assert (item.kind, item.form) == (kind, compiled().form_ids[f])
            assert item.genus == compiled().genera[compiled().form_genus[f]]
            assert item.shown
            assert bool(item.scene) == (kind == "rendered")


def test_the_best_posterior_is_at_most_one() -> None:
    """Chances of the genera are from 0 to 1 and together at most 1, the truth among them."""
    here = genus_prior(compiled(), REGION)
    missing = 0
    for item in one_of_each():
        assert all(0 < chance <= 1 for chance in item.best.values())
        assert sum(item.best.values()) <= 1 + 1e-12
        assert list(item.best.values()) == sorted(item.best.values(), reverse=True)
        common = here[compiled().genera.index(item.genus)] > 1e-3
        missing += common and item.genus not in item.best
    assert missing == 0


def test_shown_looks_are_possible_and_known() -> None:
    """Each look is a state or a plausible size of a character that water or lens show."""
    for item in one_of_each():
        for id_, value in item.shown.items():
            one = compiled().characters[compiled().character_index[id_]]
            assert one.seen != "k"
            if isinstance(value, str):
                assert value in one.states
            else:
                assert one.least <= value <= one.most


def test_words_tell_what_the_picture_cannot_show() -> None:
    """Beside a picture, only shape and place are told; a description tells all that it shows."""
    for item in one_of_each():
        assert set(item.told) <= set(item.shown)
        if item.kind == "rendered":
            assert set(item.told) <= set(TOLD)
            assert item.pictured
        else:
            assert set(item.told) == set(item.shown)
            assert "corallite_arrangement" in item.shown


def test_what_an_item_practises_is_told() -> None:
    """A description tells the character asked, but for the few colonies that lack it."""
    rng = np.random.default_rng(3)
    for id_ in ("columella", "septal_teeth", "calice_diameter_mm"):
        wish = Wish(form_of("Favites"), "x", ask=id_, kind="described")
        made = [maker().make(wish, rng) for _ in range(40)]
        assert all(item.ask == id_ for item in made)
        assert sum(id_ in item.shown for item in made) >= 34
        # A width is judged by eye, without a ruler beside it.
        assert all(item.ruler is (id_ != "calice_diameter_mm") for item in made)


def test_the_branch_tip_is_drawn_where_it_is_practised() -> None:
    """Whether a corallite sits at the tip is shown by the picture, not told."""
    wish = Wish(form_of("Acropora"), "x", ask="axial_corallite")
    tip = maker().make(wish, np.random.default_rng(3))
    assert tip.scene == "branch_tip"
    assert "axial_corallite" not in tip.told


def test_a_condition_is_told_and_weighed() -> None:
    """A shaded colony says so, and its best posterior allows for it."""
    shaded = 1 + compiled().conditions.index("shaded")
    wish = Wish(form_of("Porites"), "x", condition=shaded, kind="described")
    item = maker().make(wish, np.random.default_rng(5))
    assert item.conditions == ("shaded",)
    flat = {"growth_form": "laminar", "corallite_arrangement": "cerioid"}
    assert maker().best(flat, ("shaded",)) != maker().best(flat)


def test_the_best_is_exact() -> None:
    """P(genus) of two looks without error equals the sum over forms, one number at a time."""
    seen = {"corallite_arrangement": "cerioid", "columella": "spongy"}
    prior = genus_prior(compiled(), REGION).tolist()
    joint = [0.0] * len(prior)
    for f in range(compiled().n_forms):
        value = float(compiled().form_weight[f]) * prior[compiled().form_genus[f]]
        for id_, state in seen.items():
            one = compiled().characters[compiled().character_index[id_]]
            value *= float(one.true[f][one.states.index(state)])
        joint[compiled().form_genus[f]] += value
    best = maker().best(seen)
    for genus, value in zip(compiled().genera, joint[:-1], strict=True):
        assert best.get(genus, 0.0) == pytest.approx(value / sum(joint), abs=1e-4)
    for genus, chance in best.items():
        value = joint[compiled().genera.index(genus)]
        assert chance == pytest.approx(value / sum(joint), abs=1e-10)


def test_what_suits_a_character() -> None:
    """A form suits what applies to it and is known; every form suits no character at all."""
    assert maker().suits(form_of("Favites"), "calice_diameter_mm")
    assert not maker().suits(form_of("Millepora"), "columella")
    assert maker().suits(form_of("Millepora"), "")
