"""The posterior against a second implementation, and the laws that it must keep."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from slow_model import SlowModel

from corallum.model.answer import Determiner
from corallum.model.compile import compile_reference
from corallum.model.evidence import batch, read_colony, state_columns
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.records.colony import Colony, SizeReport, StateReport
from corallum.reference.reference import parse_reference
from corallum.store.reference_folder import shipped_reference
from support import colony, compiled, determiner

VIEWS = ("openings", "shared_wall")
LAWS = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def character_ids() -> list[str]:
    """Ids of all characters."""
    return [character.id for character in compiled().characters]


@st.composite
def reports(draw: st.DrawFn, id_: str) -> StateReport | SizeReport:
    """A plausible report of one character."""
    character = compiled().characters[compiled().character_index[id_]]
    sure = draw(st.booleans())
    if character.is_size:
        low, high = np.log(character.least), np.log(character.most)
        value = float(np.exp(draw(st.floats(low, high))))
        value = min(max(value, character.least), character.most)
        method = draw(st.sampled_from(sorted(compiled().methods)))
        return SizeReport(value, draw(st.integers(1, 20)), method, sure)
    states = draw(st.sets(st.sampled_from(character.states), min_size=1, max_size=2))
    return StateReport(tuple(sorted(states)), sure)


@st.composite
def colonies(draw: st.DrawFn) -> Colony:
    """A colony with up to eight reports."""
    ids = draw(st.lists(st.sampled_from(character_ids()), unique=True, min_size=1, max_size=8))
    observations = {id_: draw(reports(id_)) for id_ in ids}
    conditions = draw(st.sets(st.sampled_from(compiled().conditions), max_size=2))
    region = draw(st.sampled_from([None, "indo_pacific", "atlantic"]))
    return Colony("c", observations, region, None, tuple(sorted(conditions)))


def genus_of(what: Colony) -> np.ndarray:
    """P(genus) of one colony."""
    return determiner().posterior([what]).genus[0]


@settings(LAWS, max_examples=12)
@given(colonies())
def test_the_slow_model_agrees(what: Colony) -> None:
    """A second, slow, obvious implementation gives the same posterior to 1e-10."""
    evidence = read_colony(compiled(), what)
    proper = {
        id_: r for id_, r in what.observations.items()
        if compiled().character_index[id_] in evidence.characters
    }  # fmt: skip
    slow = SlowModel(compiled()).genus(
        Colony("c", proper, what.region, None, what.conditions),
        genus_prior(compiled(), what.region).tolist(),
    )
    np.testing.assert_allclose(genus_of(what), slow, rtol=0, atol=1e-10)


@LAWS
@given(colonies())
def test_the_posterior_sums_to_one(what: Colony) -> None:
    """P(genus) is at least zero and adds up to one."""
    genus = genus_of(what)
    assert genus.min() >= 0
    assert genus.sum() == pytest.approx(1, abs=1e-12)


@LAWS
@given(colonies(), st.randoms())
def test_the_order_of_reports_is_irrelevant(what: Colony, random: object) -> None:
    """Reports in another order give the same posterior."""
    items = list(what.observations.items())
    random.shuffle(items)  # type: ignore[attr-defined]
    other = Colony("c", dict(items), what.region, None, what.conditions)
    np.testing.assert_allclose(genus_of(other), genus_of(what), rtol=0, atol=1e-12)


@LAWS
@given(colonies(), st.data())
def test_a_report_of_not_looked_at_changes_nothing(what: Colony, data: st.DataObject) -> None:
    """A character reported as not looked at costs and tells nothing."""
    left = [id_ for id_ in character_ids() if id_ not in what.observations]
    id_ = data.draw(st.sampled_from(left))
    more = {**what.observations, id_: StateReport(("not_looked_at",))}
    other = Colony("c", more, what.region, None, what.conditions)
    np.testing.assert_array_equal(genus_of(other), genus_of(what))


@LAWS
@given(colonies(), st.data())
def test_a_set_of_all_states_changes_nothing(what: Colony, data: st.DataObject) -> None:
    """A set of all states is no information, for characters and for views."""
    ids = [
        id_ for id_ in (*character_ids(), *VIEWS)
        if id_ not in what.observations
        and set(state_columns(compiled(), id_)) - {"not_applicable"}
        and not (id_ in VIEWS and "corallite_arrangement" in what.observations)
    ]  # fmt: skip
    id_ = data.draw(st.sampled_from(ids))
    states = tuple(s for s in state_columns(compiled(), id_) if s != "not_applicable")
    more = {**what.observations, id_: StateReport(states)}
    other = Colony("c", more, what.region, None, what.conditions)
    np.testing.assert_allclose(genus_of(other), genus_of(what), rtol=0, atol=1e-12)


def test_colonies_side_by_side_do_not_touch() -> None:
    """A batch gives each colony the posterior that it gets alone."""
    many = [
        colony(growth_form="massive", corallite_arrangement="cerioid", calice_diameter_mm=8),
        colony(attachment="free", septa_count=120, region="red_sea"),
        colony(fine_hairs="present", conditions=("shaded",), growth_form=["branching", "laminar"]),
        colony(),
    ]
    together = determiner().posterior(many).genus
    for one, row in zip(many, together, strict=True):
        np.testing.assert_allclose(genus_of(one), row, rtol=0, atol=1e-13)


def test_nothing_reported_leaves_the_prior() -> None:
    """A colony without reports has the posterior of its region's prior."""
    np.testing.assert_allclose(
        genus_of(colony(region="atlantic")), genus_prior(compiled(), "atlantic"), atol=1e-12
    )


@pytest.mark.parametrize("state", ["pores_two_sizes", "cyclosystems", "calices"])
def test_views_of_one_look_count_once(state: str) -> None:
    """What is reported through two views of one look counts no more than the narrower."""
    inside = {"pores_two_sizes": "pores", "cyclosystems": "pores", "calices": "plocoid"}[state]
    both = colony(openings=state, corallite_arrangement=inside)
    narrow = colony(corallite_arrangement=inside) if state == "calices" else colony(openings=state)
    np.testing.assert_allclose(genus_of(both), genus_of(narrow), rtol=0, atol=1e-12)


def test_ignorance_is_neutral() -> None:
    """Of two genera with nothing written on depth, a depth leaves the odds as they were."""
    blank = ("Porites,", "Favites,")
    tables = {
        name: "\n".join(
            row for row in text.split("\n")
            if not (row.startswith(blank) and ",depth_m," in row)
        ) if name.startswith("values/") else text
        for name, text in shipped_reference().items()
    }  # fmt: skip
    ignorant = Determiner(compile_reference(parse_reference(tables)))
    a, b = (ignorant.compiled.genera.index(name) for name in ("Porites", "Favites"))
    before = ignorant.posterior([colony(growth_form="massive")]).genus[0]
    after = ignorant.posterior([colony(growth_form="massive", depth_m=60)]).genus[0]
    assert after[a] / after[b] == pytest.approx(before[a] / before[b], rel=1e-9)
    told = genus_of(colony(growth_form="massive", depth_m=60))
    plain = genus_of(colony(growth_form="massive"))
    assert told[a] / told[b] != pytest.approx(plain[a] / plain[b], rel=1e-3)


def test_the_kernel_does_not_change_its_evidence() -> None:
    """Asking twice gives the same answer: nothing is changed in place."""
    side = batch(compiled(), [read_colony(compiled(), colony(growth_form="massive", depth_m=12))])
    prior = genus_prior(compiled(), None)
    first = posterior(determiner().kernel, side, prior).genus
    np.testing.assert_array_equal(posterior(determiner().kernel, side, prior).genus, first)
