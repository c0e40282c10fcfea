"""Each purpose of a practice set gives what it says."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import binom

from corallum.errors import InputError
from corallum.model.prior import genus_prior
from corallum.practice.making import Maker, Wish
from corallum.practice.sets import MOST_ITEMS, PURPOSES, SetWish, make_items, wishes_of
from support import compiled

REGION = "red_sea"


@cache
def maker() -> Maker:
    """A maker for the region."""
    return Maker(compiled(), REGION)


def wishes(wish: SetWish, seed: int = 1) -> list[Wish]:
    """Forms of a set, without the pictures."""
    return wishes_of(compiled(), maker(), wish, np.random.default_rng(seed))


def genus(wish: Wish) -> str:
    """Genus of one wish."""
    return compiled().genera[int(compiled().form_genus[wish.form])]


def top(n: int) -> list[str]:
    """Commonest genera of the region."""
    order = np.argsort(-genus_prior(compiled(), REGION)[:-1], kind="stable")
    return [compiled().genera[g] for g in order[:n]]


@pytest.mark.parametrize("purpose", PURPOSES)
def test_every_purpose_gives_as_many_as_asked(purpose: str) -> None:
    """A set has its size, each item a reason, and the same seed gives the same set."""
    wish = SetWish(purpose, REGION, 5, ("Favites", "Porites"), "")
    if purpose == "character":
        wish = replace(wish, genera=(), character="columella")
    one, other = (make_items(compiled(), wish, np.random.default_rng(2)) for _ in range(2))
    assert len(one) == 5
    assert all(item.why and item.region == REGION for item in one)
    assert one == other


def test_common_takes_the_commonest_in_turn() -> None:
    """Twenty items hold the twenty commonest genera once each, forty twice."""
    for rounds in (1, 2):
        counts = Counter(map(genus, wishes(SetWish("common", REGION, 20 * rounds))))
        assert counts == dict.fromkeys(top(20), rounds)
    assert {genus(one) for one in wishes(SetWish("common", REGION, 5))} == set(top(5))


def test_a_pair_has_only_its_two_genera() -> None:
    """Both are there equally often, in an order that can't be guessed by turn."""
    wish = SetWish("pair", REGION, 30, ("Favites", "Goniastrea"))
    named = [genus(one) for one in wishes(wish)]
    assert Counter(named) == {"Favites": 15, "Goniastrea": 15}
    turns = sum(a != b for a, b in pairwise(named))
    assert 5 <= turns <= 24


def test_odd_growth_is_bent_or_rare() -> None:
    """Every colony has something that acts on it, or a form that most of its genus has not."""
    made = wishes(SetWish("odd", REGION, 60))
    bent = [one for one in made if one.condition]
    rare = [one for one in made if not one.condition]
    assert len(bent) == len(rare) == 30
    assert all(compiled().form_weight[one.form] < 0.5 for one in rare)
    assert {compiled().conditions[one.condition - 1] for one in bent} <= set(compiled().conditions)
    assert len({one.condition for one in bent}) > 2
    assert len({genus(one) for one in made}) > 15


def test_a_character_is_covered_state_by_state() -> None:
    """Each state that a form of the region usually shows comes as often as the others."""
    id_ = "corallite_arrangement"
    one = compiled().characters[compiled().character_index[id_]]
    usual = [one.states[int(np.argmax(one.true[f, :-1]))] for f in range(compiled().n_forms - 1)]
    made = wishes(SetWish("character", REGION, 60, character=id_))
    counts = Counter(usual[wish.form] for wish in made)
    assert set(counts) >= {"plocoid", "cerioid", "meandroid", "phaceloid"}
    assert max(counts.values()) - min(counts.values()) <= 1
    assert all(wish.ask == id_ for wish in made)


def test_a_size_is_covered_from_small_to_large() -> None:
    """A quarter of the items each are of forms with small, middling, large, largest widths."""
    id_ = "calice_diameter_mm"
    one = compiled().characters[compiled().character_index[id_]]
    made = wishes(SetWish("character", REGION, 40, character=id_))
    widths = np.sort([float(np.exp(one.log_mean[wish.form])) for wish in made])
    assert all(one.known[wish.form] for wish in made)
    # Genera of the region run from under 1.5 mm (Montipora) to beyond 20 (Lobophyllia).
    assert widths[9] < 2.5
    assert widths[30] > 10
    assert widths[-1] / widths[0] > 20


def test_a_mixed_set_is_as_the_survey_meets_them() -> None:
    """The commonest genera come by their shares of the region, within binomial bounds."""
    shares = genus_prior(compiled(), REGION)[:-1]
    n = MOST_ITEMS
    counts = Counter(map(genus, wishes(SetWish("mixed", REGION, n))))
    for name in top(10):
        share = shares[compiled().genera.index(name)] / shares.sum()
        low, high = binom.ppf([1e-6, 1 - 1e-6], n, share)
        assert low <= counts[name] <= high


@pytest.mark.parametrize("purpose", ["common", "mixed", "person", "odd"])
def test_named_genera_are_chosen_from_alone(purpose: str) -> None:
    """A set for some genera holds no other."""
    named = ("Favites", "Porites", "Acropora")
    made = wishes(SetWish(purpose, REGION, 30, named))
    assert {genus(one) for one in made} <= set(named)
    assert len({genus(one) for one in made}) > 1


def test_a_person_gets_what_they_need() -> None:
    """Only genera with a weight are drawn, the heavier more often, each with its reason."""
    weights = np.zeros(len(compiled().genera))
    reasons = [""] * len(weights)
    for name, weight in (("Favites", 3.0), ("Goniastrea", 1.0)):
        weights[compiled().genera.index(name)] = weight
        reasons[compiled().genera.index(name)] = f"{name} is due."
    wish = SetWish("person", REGION, 80, weights=weights, reasons=tuple(reasons))
    made = wishes(wish)
    counts = Counter(map(genus, made))
    assert set(counts) == {"Favites", "Goniastrea"}
    low, high = binom.ppf([1e-6, 1 - 1e-6], 80, 0.75)
    assert low <= counts["Favites"] <= high
    assert all(one.why == f"{genus(one)} is due." for one in made)


def test_nothing_to_gain_falls_back_on_the_survey() -> None:
    """Where nobody needs anything, genera come as the survey meets them."""
    wish = SetWish("person", REGION, 20, weights=np.zeros(len(compiled().genera)))
    assert {one.why for one in wishes(wish)} == {"Met by the survey."}


@pytest.mark.parametrize(("share", "low", "high"), [(0.0, 0, 0), (0.5, 20, 60), (1.0, 80, 80)])
def test_as_many_are_told_in_words_as_wished(share: float, low: int, high: int) -> None:
    """The share of items without a picture is as asked."""
    made = wishes(SetWish("mixed", REGION, 80, described=share))
    assert low <= sum(one.kind == "described" for one in made) <= high


def test_all_faults_of_a_wish_are_told_at_once() -> None:
    """Purpose, size, region, genera and character, each with what was expected."""
    wish = SetWish("fun", "mars", 0, ("Coralia", "Favites"), "columella_threads")
    with pytest.raises(InputError) as caught:
        make_items(compiled(), wish, np.random.default_rng(1))
    assert [fault.place for fault in caught.value.faults] == [
        "purpose", "items", "region", "genus", "character",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("wish", "place"),
    [
        (SetWish("pair", REGION, genera=("Favites", "Favites")), "genera"),
        (SetWish("pair", REGION, genera=("Favites",)), "genera"),
        (SetWish("pair", REGION, genera=("Favites", "Porites", "Acropora")), "genera"),
        (SetWish("character", REGION), "character"),
        (SetWish("common", REGION, MOST_ITEMS + 1), "items"),
        (SetWish("character", REGION, genera=("Millepora",), character="columella"), "character"),
    ],
)
def test_wishes_that_can_not_be(wish: SetWish, place: str) -> None:
    """One fault each, in its place."""
    with pytest.raises(InputError) as caught:
        make_items(compiled(), wish, np.random.default_rng(1))
    assert [fault.place for fault in caught.value.faults] == [place]


def test_progress_is_told_to_the_end() -> None:
    """The share done rises to one."""
    told: list[float] = []
    make_items(compiled(), SetWish("mixed", REGION, 4), np.random.default_rng(1), told.append)
    assert told == [0.25, 0.5, 0.75, 1.0]
