"""What an answer says beyond the odds: looks, limits, fragile reports, reasons."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_posterior import LAWS, colonies

from corallum.model.answer import Determiner
from corallum.model.compile import compile_reference
from corallum.model.errors import size_error
from corallum.model.evidence import batch, read_colony
from corallum.model.fragile import _changes
from corallum.model.information import entropy_bits
from corallum.model.likelihood import size_density
from corallum.model.limits import find_limits
from corallum.model.next_looks import next_looks
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.model.simulate import simulate
from corallum.model.verdict import decide, open_name, smallest_set
from corallum.records.answer import Limits
from corallum.records.colony import Colony, SizeReport
from corallum.reference.reference import parse_reference
from corallum.store.reference_folder import shipped_reference
from support import answer, colony, compiled, determiner, leader

FAVIID = {
    "growth_form": "massive", "corallite_arrangement": "cerioid", "calice_diameter_mm": 8,
    "region": "indo_pacific",
}  # fmt: skip


@LAWS
@given(colonies())
def test_decibans_add_up_to_the_log_odds(what: Colony) -> None:
    """Prior, form and blocks add up to 10 log10 of the odds, to 1e-9."""
    found = determiner().determine(what)
    assert found.why is not None
    genus = determiner().posterior([what]).genus[0]
    a, b = (compiled().genera.index(name) for name in (found.why.for_, found.why.against))
    parts = found.why.prior + found.why.form + sum(e.value for e in found.why.decibans)
    assert parts == pytest.approx(found.why.total, abs=1e-9)
    assert found.why.total == pytest.approx(10 * np.log10(genus[a] / genus[b]), abs=1e-9)


@settings(LAWS, max_examples=60)
@given(st.floats(0.1, 400), st.integers(1, 30), st.sampled_from(["eye", "ruler", "photo"]))
def test_more_calices_never_widen_the_size_likelihood(size: float, n: int, method: str) -> None:
    """The variance of a mean of n + 1 calices is never above that of n."""
    kernel = determiner().kernel
    c = compiled().character_index["calice_diameter_mm"]
    peaks = []
    for count in (n, n + 1):
        variance, _ = size_error(compiled(), method, count, kernel.observer)
        character = compiled().characters[c]
        at = size_density(compiled(), character, np.array([np.log(size)]), np.array([variance]))
        assert at.shape == (1, compiled().n_forms)
        peaks.append(variance)
    assert peaks[1] <= peaks[0]


def test_the_size_density_is_a_density() -> None:
    """Over all sizes and "does not apply", every form's density adds up to one."""
    for character in compiled().characters:
        if not character.is_size:
            continue
        grid = np.linspace(np.log(character.least) - 8, np.log(character.most) + 8, 40_001)
        density = size_density(compiled(), character, grid, np.full(len(grid), 0.01))
        density = density.reshape(len(grid), -1, compiled().n_forms)[:, 0]
        inside = (grid >= np.log(character.least)) & (grid <= np.log(character.most))
        tail = compiled().settings.size_tail
        flat = tail / np.log(character.most / character.least)
        bell = np.trapezoid(density - flat * _applied(character), grid, axis=0)
        whole = bell + np.trapezoid((flat * inside)[:, None] * _applied(character), grid, axis=0)
        slip = compiled().settings.inapplicable
        outside = character.applies * slip + (1 - character.applies) * (1 - slip)
        total = whole + (outside if character.conditional else 0)
        np.testing.assert_allclose(total, 1, atol=2e-3)


def _applied(character: object) -> np.ndarray:
    """Share of a form's reports of a size that give a size."""
    slip = compiled().settings.inapplicable
    applies = character.applies  # type: ignore[attr-defined]
    if not character.conditional:  # type: ignore[attr-defined]
        return np.ones_like(applies)
    return applies * (1 - slip) + (1 - applies) * slip


def test_every_table_of_reports_is_a_distribution() -> None:
    """What an observer reports of a form adds up to one, under every condition."""
    for table in determiner().kernel.tables:
        if table.size:
            np.testing.assert_allclose(table.sum(axis=-2), 1, atol=1e-12)


def test_sixty_four_nodes_are_enough() -> None:
    """Gains of sizes by 64 nodes lie within .002 bits of those by 4,096."""
    for what in (colony(**FAVIID), colony(region="atlantic"), colony(growth_form="free_living")):
        evidence = read_colony(compiled(), what)
        side = batch(compiled(), [evidence])
        found = posterior(determiner().kernel, side, genus_prior(compiled(), what.region))
        few, many = (
            {look.character: look.gain_bits for look in
             next_looks(determiner().kernel, evidence, side, found, nodes=nodes)}
            for nodes in (64, 4096)
        )  # fmt: skip
        sizes = [c.id for c in compiled().characters if c.is_size]
        for id_ in sizes:
            assert few.get(id_, 0) == pytest.approx(many.get(id_, 0), abs=0.002), id_


def test_gain_is_what_asking_gains() -> None:
    """A look's gain is the entropy lost on average over its states, where it applies."""
    what = colony(**FAVIID)
    evidence = read_colony(compiled(), what)
    kernel, prior = determiner().kernel, genus_prior(compiled(), "indo_pacific")
    found = posterior(kernel, batch(compiled(), [evidence]), prior)
    gains = {look.character: look.gain_bits for look in answer(**FAVIID).next_looks}
    for id_ in ("septal_teeth", "paliform_crown", "groove_between"):
        c = compiled().character_index[id_]
        columns = range(len(compiled().characters[c].states))
        others = batch(compiled(), [evidence.with_states(c, frozenset({i})) for i in columns])
        after = posterior(kernel, others, prior)
        weight = np.exp(after.log_joint - found.log_joint.max()).sum(axis=1)
        weight /= np.exp(found.log_joint - found.log_joint.max()).sum()
        applying = weight @ after.genus
        before = float(entropy_bits(applying / weight.sum()))
        lost = before - float(weight @ entropy_bits(after.genus)) / weight.sum()
        expected = weight.sum() * lost
        assert gains[id_] == pytest.approx(expected, abs=1e-9)


def test_limits_are_what_looking_at_all_gives() -> None:
    """Limits agree with plain random draws of everything else, within four standard errors."""
    what = colony(growth_form="massive", corallite_arrangement="cerioid", region="atlantic")
    evidence = read_colony(compiled(), what)
    side = batch(compiled(), [evidence])
    prior = genus_prior(compiled(), "atlantic")
    found = posterior(determiner().kernel, side, prior)
    limits = find_limits(determiner().exact, evidence, side, found)
    expected, error = _drawn_limits(evidence.characters, found.form[0], ("w", "l"))
    assert limits.best_in_water == pytest.approx(expected, abs=4 * error + 0.01)


def _drawn_limits(
    reported: tuple[int, ...], form: np.ndarray, seen: tuple[str, ...]
) -> tuple[float, float]:
    """Draw forms from a posterior, report the rest exactly, and average the best genus."""
    kernel = determiner().exact.kernel
    looks = np.array([c.seen in seen for c in compiled().characters])
    looks[list(reported)] = False
    best = []
    rng = np.random.default_rng(5)
    for f in rng.choice(len(form), size=400, p=form):
        only = np.zeros(len(compiled().genera) + 1)
        only[compiled().form_genus[f]] = 1.0
        drawn = simulate(kernel, only, looks[None], rng, method="published", readings=1)
        while drawn.form[0] != f:
            drawn = simulate(kernel, only, looks[None], rng, method="published", readings=1)
        log = kernel.groups(drawn.evidence)
        total = np.log(form + 1e-300) + sum(np.log(g.likelihood[0]) for g in log)
        odds = compiled().genus_sum(np.exp(total - total.max()))
        best.append(odds.max() / odds.sum())
    return float(np.mean(best)), float(np.std(best) / np.sqrt(len(best)))


def test_the_skeleton_never_knows_less() -> None:
    """With the skeleton the best genus is at least as well known as without."""
    for what in ({}, FAVIID, {"attachment": "free"}, {"corallite_arrangement": "tubes"}):
        limits = answer(**what).limits
        assert limits.best_with_skeleton >= limits.best_in_water - 0.01


def test_fragile_reports_change_the_verdict() -> None:
    """Every fragile report, put in by hand, leads to the verdict that it names."""
    found = answer(**FAVIID)
    assert found.fragile
    for item in found.fragile:
        other = dict(FAVIID)
        if item.change == "left_out":
            other.pop(item.character)
        elif item.character.endswith("_mm"):
            other[item.character] = SizeReport(float(item.change.split()[0]), 5, "ruler")
        else:
            other[item.character] = item.change
        again = answer(**other)
        assert leader(again) == item.verdict[0]


def test_fragile_tries_a_size_off_by_a_third_and_the_other_wall() -> None:
    """A size a third off either way and a wall called the other way are tried."""
    tried = {
        (change.character, change.change)
        for change in _changes(compiled(), read_colony(compiled(), colony(**FAVIID)))
    }
    assert {("calice_diameter_mm", "5.33 mm"), ("calice_diameter_mm", "10.7 mm")} <= tried
    assert ("corallite_arrangement", "plocoid") in tried
    assert {(id_, "left_out") for id_ in FAVIID if id_ != "region"} <= tried


def test_a_wall_said_to_be_shared_is_tried_as_not_shared() -> None:
    """Where only shared_wall was reported, its other answer is tried."""
    tried = _changes(compiled(), read_colony(compiled(), colony(shared_wall="yes")))
    assert ("shared_wall", "no") in {(change.character, change.change) for change in tried}


def test_the_set_is_the_smallest_that_holds_enough() -> None:
    """The set stops at the first genus that fills it."""
    assert smallest_set(np.array([0.2, 0.5, 0.3]), 0.8).tolist() == [1, 2]
    assert smallest_set(np.array([0.95, 0.05]), 0.9).tolist() == [0]
    assert len(smallest_set(np.array([0.5, 0.5]), 1.0)) == 2


def test_statuses_are_tried_in_their_order() -> None:
    """Not in the reference comes before settled, that before not separable, that before open."""
    count = len(compiled().genera)
    good, poor = Limits(0.99, 0.99), Limits(0.6, 0.95)

    def status(best: int, share: float, limits: Limits) -> tuple[str, str]:
        genus = np.full(count + 1, (1 - share) / count)
        genus[best] = share
        verdict = decide(compiled(), genus, limits, ())
        return verdict.status, verdict.needs

    assert status(count, 0.95, poor) == ("not_in_reference", "second_reader")
    assert status(3, 0.95, poor) == ("settled", "nothing")
    assert status(3, 0.7, poor) == ("not_separable_in_water", "voucher")
    assert status(3, 0.7, Limits(0.6, 0.7)) == ("not_separable_in_water", "second_reader")
    assert status(3, 0.7, good) == ("open", "second_reader")


def test_names_are_open_nomenclature() -> None:
    """One genus is named with sp., several by what they share with indet."""
    assert open_name(compiled(), ("Porites",)) == ("Porites sp.", "genus")
    assert open_name(compiled(), ("Favites", "Goniastrea")) == ("Merulinidae indet.", "family")
    assert open_name(compiled(), ("Favites", "Porites")) == ("Scleractinia indet.", "order")
    assert open_name(compiled(), ("Favites", "Millepora")) == ("stony coral indet.", "none")
    assert open_name(compiled(), ("Favites", None)) == ("stony coral indet.", "none")


def test_a_size_that_no_form_has_is_no_obstacle() -> None:
    """A reference without any value of a size still determines, and offers other looks."""
    tables = {
        name: "\n".join(row for row in text.split("\n") if ",depth_m," not in row)
        if name.startswith("values/") else text
        for name, text in shipped_reference().items()
    }  # fmt: skip
    blank = Determiner(compile_reference(parse_reference(tables)))
    assert blank.determine(colony(growth_form="massive")).next_looks
    assert blank.determine(colony(depth_m=5)).candidates


def test_night_hides_what_polyps_do() -> None:
    """At night expanded polyps say nothing, and nobody is asked for them."""
    polyps = {"day_expansion": "long_polyps", "tentacle_count": "twenty_four"}
    night = answer(**FAVIID, **polyps, conditions=("night",))
    plain = answer(**FAVIID)
    assert night.candidates == plain.candidates
    assert not {look.character for look in night.next_looks} & {*polyps, "tentacle_tip"}


def test_a_bleached_colony_has_no_colour_to_go_by() -> None:
    """In a bleached colony a white surface is no evidence; its shape still is."""
    bleached = answer(**FAVIID, living_colour="grey_or_white", conditions=("bleached", "shaded"))
    assert bleached.candidates == answer(**FAVIID, conditions=("shaded",)).candidates
