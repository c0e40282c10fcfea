"""Drawn colonies look as the reference says, and reports of them err as their observer does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import binom

from corallum.model.answer import Determiner
from corallum.model.compiled import CompiledCharacter, CompiledReference
from corallum.model.errors import Observer, OwnErrors, state_errors
from corallum.model.likelihood import Kernel
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.model.truth import TrueColonies, draw_colonies, report_colonies
from corallum.records.colony import Colony, SizeReport, StateReport
from support import colony, compiled, determiner

N = 4000
# Some thousand shares are compared, so each bound is wide: two in ten million beyond it.
TAIL = 1e-7
FORMS = (3, 60, 121, 190, 250)


def character(id_: str) -> CompiledCharacter:
    """A character of the shipped reference."""
    return compiled().characters[compiled().character_index[id_]]


def drawn(form: int, condition: int = 0, n: int = N, seed: int = 7) -> TrueColonies:
    """Colonies of one form under one condition."""
    rng = np.random.default_rng(seed)
    return draw_colonies(compiled(), np.full(n, form), rng, np.full(n, condition))


def everything(n: int) -> NDArray[np.bool_]:
    """Every character of every colony is looked at."""
    return np.ones((n, len(compiled().characters)), dtype=np.bool_)


def assert_shares(columns: NDArray[np.int64], shares: list[float]) -> None:
    """Counts lie within binomial bounds of their shares."""
    n = len(columns)
    for column, share in enumerate(shares):
        count = int((columns == column).sum())
        low, high = binom.ppf([TAIL, 1 - TAIL], n, min(max(share, 0.0), 1.0))
        assert low <= count <= high, (column, share, count / n)


@pytest.mark.parametrize("form", FORMS)
def test_states_are_drawn_by_their_shares(form: int) -> None:
    """Where nothing acts, every state is drawn as often as the form shows it."""
    true = drawn(form)
    for c, columns in true.states.items():
        assert_shares(columns, compiled().characters[c].true[form].tolist())


@pytest.mark.parametrize("form", FORMS)
def test_sizes_are_drawn_by_their_log_normals(form: int) -> None:
    """Log sizes have the form's mean and spread, to five standard errors, where it has them."""
    true = drawn(form)
    for c, log in true.log_sizes.items():
        one = compiled().characters[c]
        there = log[~np.isnan(log)]
        if not one.known[form]:
            assert not len(there)
            continue
        share = float(one.applies[form]) if one.conditional else 1.0
        assert_shares((~np.isnan(log)).astype(np.int64), [1 - share, share])
        if len(there) < 200:
            continue
        mean, sd, n = float(one.log_mean[form]), float(one.log_sd[form]), len(there)
        assert abs(there.mean() - mean) < 5 * sd / np.sqrt(n)
        assert abs(there.std() / sd - 1) < 5 / np.sqrt(2 * n)


def most_moved(condition: int) -> int:
    """Form whose states a condition moves most."""
    acting = [one for one in compiled().characters if one.flips.size]
    moved = [np.abs(one.true @ one.flips[condition] - one.true).sum(axis=1) for one in acting]
    return int(np.argmax(np.sum(moved, axis=0)[:-1]))


@pytest.mark.parametrize("condition", range(1, 1 + len(compiled().conditions)))
def test_conditions_move_states(condition: int) -> None:
    """Under a condition, states are shared out as its flips move the form's shares."""
    form = most_moved(condition)
    true = drawn(form, condition)
    moved = 0
    for c, columns in true.states.items():
        one = compiled().characters[c]
        if not one.flips.size:
            continue
        before, flips = one.true[form], one.flips[condition]
        width = len(before)
        shares = [sum(before[u] * flips[u][t] for u in range(width)) for t in range(width)]
        assert_shares(columns, [float(share) for share in shares])
        moved += float(np.abs(np.array(shares) - before).max()) > 0.05
    sizes = character("colony_diameter_cm")
    shift = float(sizes.log_shift[condition])
    log = true.log_sizes[compiled().character_index["colony_diameter_cm"]]
    error = 5 * float(sizes.log_sd[form]) / np.sqrt(N)
    # A few colonies at the ends of the plausible range are pulled in.
    assert abs(log.mean() - float(sizes.log_mean[form]) - shift) < error + 0.02
    assert moved or shift


def test_conditions_are_drawn_where_none_is_stated() -> None:
    """Without a condition stated, four in five colonies have none, the rest one of six."""
    true = draw_colonies(compiled(), np.full(N, 3), np.random.default_rng(3))
    assert_shares(true.condition, [0.8] + [0.2 / 6] * 6)


def test_exact_reports_equal_the_truth() -> None:
    """An observer without error reports every state and size as it is."""
    form = np.repeat(np.array(FORMS), 40)
    rng = np.random.default_rng(5)
    true = draw_colonies(compiled(), form, rng)
    said = report_colonies(compiled(), true, Observer.EXACT, everything(len(form)), rng)
    for c, columns in true.states.items():
        np.testing.assert_array_equal(said.states[c].codes, columns + 1)
    for c, log in true.log_sizes.items():
        np.testing.assert_array_equal(said.sizes[c].log_value, log)


def test_what_is_not_looked_at_is_not_reported() -> None:
    """Reports are there for the characters looked at, and for no other."""
    rng = np.random.default_rng(6)
    true = draw_colonies(compiled(), np.full(200, 60), rng)
    looked_at = rng.random((200, len(compiled().characters))) < 0.3
    said = report_colonies(compiled(), true, Observer.UNKNOWN, looked_at, rng)
    for c, reports in said.states.items():
        np.testing.assert_array_equal(reports.codes > 0, looked_at[:, c])
    for c, sizes in said.sizes.items():
        reported = ~np.isnan(sizes.log_value) | sizes.inapplicable
        assert not (reported & ~looked_at[:, c]).any()


def exact_states() -> OwnErrors:
    """Errors of somebody who takes no state for another."""
    return OwnErrors(
        {one.id: np.eye(len(one.states) + 1) for one in compiled().characters if not one.is_size}
    )


def always_misread(group: str) -> CompiledReference:
    """The reference with one group misread always, and no other."""
    groups = tuple(
        replace(one, misread=1.0 if one.id == group else 0.0) for one in compiled().groups
    )
    return replace(compiled(), groups=groups)


def test_a_misread_group_follows_another_form() -> None:
    """Its reports are as of forms at the base rate, both of one form; other groups are right."""
    base = always_misread("wall")
    rng = np.random.default_rng(8)
    true = draw_colonies(base, np.full(N, 60), rng, np.zeros(N, dtype=np.int64))
    said = report_colonies(base, true, exact_states(), everything(N), rng)
    a, b = (base.character_index[id_] for id_ in ("corallite_arrangement", "coenosteum_texture"))
    weight, first, second = base.base_weight, base.characters[a].true, base.characters[b].true
    together = np.zeros((first.shape[1], second.shape[1]))
    for h, share in enumerate(weight):
        together += share * np.outer(first[h], second[h])
    codes = (said.states[a].codes - 1) * second.shape[1] + said.states[b].codes - 1
    assert_shares(codes.astype(np.int64), together.ravel().tolist())
    for c in base.groups[0].members:
        if c in true.states:
            np.testing.assert_array_equal(said.states[c].codes, true.states[c] + 1)


def test_reports_err_as_the_observer_does() -> None:
    """Where no group is misread, said beside true has the observer's own rates."""
    base = always_misread("none of these")
    one = character("corallite_arrangement")
    size = len(one.states)
    matrix = np.eye(size + 1)
    matrix[:size, :size] = np.random.default_rng(1).dirichlet(np.ones(size), size)
    rng = np.random.default_rng(9)
    true = draw_colonies(base, np.full(N, 60), rng)
    said = report_colonies(base, true, OwnErrors({one.id: matrix}), everything(N), rng)
    c = base.character_index[one.id]
    state = int(np.bincount(true.states[c]).argmax())
    there = true.states[c] == state
    codes = said.states[c].codes[there].astype(np.int64) - 1
    assert_shares(codes, matrix[state].tolist())


def own_like_unknown() -> OwnErrors:
    """Own errors that are those of an unknown observer, to the last figure."""
    states = {
        one.id: state_errors(one, Observer.UNKNOWN)
        for one in compiled().characters
        if not one.is_size
    }
    eye = compiled().methods["eye"]
    sd = float(np.sqrt((sum(eye.observer_sd) / 2) ** 2 + eye.each_sd**2))
    return OwnErrors(states, sum(eye.bias) / 2, sd)


def test_own_errors_like_an_unknown_observer_change_nothing() -> None:
    """With an unknown observer's matrices as one's own, every posterior is the same."""
    rng = np.random.default_rng(10)
    n = 60
    true = draw_colonies(compiled(), rng.integers(0, compiled().n_forms - 1, n), rng)
    looked_at = rng.random((n, len(compiled().characters))) < 0.3
    evidence = report_colonies(compiled(), true, Observer.UNKNOWN, looked_at, rng)
    prior = genus_prior(compiled(), "red_sea")
    plain = posterior(determiner().kernel, evidence, prior).genus
    own = posterior(Kernel(compiled(), own_like_unknown()), evidence, prior).genus
    np.testing.assert_allclose(own, plain, rtol=0, atol=1e-12)
    empty = posterior(Kernel(compiled(), OwnErrors()), evidence, prior).genus
    np.testing.assert_array_equal(empty, plain)


def genus_of(observer: OwnErrors, **looks: object) -> NDArray[np.float64]:
    """P(genus) of a colony by an observer with own errors."""
    found = Determiner(compiled(), observer).posterior([colony(**looks)])  # type: ignore[arg-type]
    genus: NDArray[np.float64] = found.genus[0]
    return genus


def test_sizes_by_eye_are_read_with_the_own_bias() -> None:
    """Who reads all widths by a factor too large is believed after dividing by it."""
    eye, ruler = SizeReport(6.0, 3, "eye"), SizeReport(6.0, 3, "ruler")
    larger = replace(eye, value=6.0 * np.exp(0.3))
    plain, biased = OwnErrors({}, 0.05, 0.3), OwnErrors({}, 0.35, 0.3)
    np.testing.assert_allclose(
        genus_of(biased, calice_diameter_mm=larger),
        genus_of(plain, calice_diameter_mm=eye), rtol=0, atol=1e-12,
    )  # fmt: skip
    moved = genus_of(biased, calice_diameter_mm=eye) - genus_of(plain, calice_diameter_mm=eye)
    assert np.abs(moved).max() > 1e-3
    np.testing.assert_array_equal(
        genus_of(biased, calice_diameter_mm=ruler), genus_of(plain, calice_diameter_mm=ruler)
    )


def test_a_surer_eye_tells_more() -> None:
    """With a smaller spread of one's own, a width parts two genera by more."""
    a, b = (compiled().genera.index(genus) for genus in ("Stylophora", "Lobophyllia"))
    weight = []
    for sd in (0.15, 0.6):
        genus = genus_of(OwnErrors({}, 0.0, sd), calice_diameter_mm=SizeReport(1.2, 1, "eye"))
        weight.append(float(np.log(genus[a] / genus[b])))
    assert weight[0] > weight[1] > 0


@st.composite
def own_errors(draw: st.DrawFn) -> OwnErrors:
    """Any errors whose rows add up to one."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    spread = draw(st.sampled_from([0.05, 1.0, 50.0]))
    states = {}
    for one in compiled().characters:
        if one.is_size or rng.random() < 0.2:
            continue
        size = len(one.states)
        matrix = np.eye(size + 1)
        matrix[:size, :size] = rng.dirichlet(np.full(size, spread), size)
        states[one.id] = matrix
    return OwnErrors(states, draw(st.floats(-1, 1)), draw(st.floats(0.02, 2)))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(own_errors(), st.data())
def test_the_posterior_sums_to_one_whatever_the_own_errors(
    errors: OwnErrors, data: st.DataObject
) -> None:
    """P(genus) is at least zero and adds up to one for any errors of one's own."""
    states = [one for one in compiled().characters if not one.is_size]
    chosen = data.draw(st.lists(st.sampled_from(states), unique_by=lambda one: one.id, max_size=6))
    reports: dict[str, StateReport | SizeReport] = {
        one.id: StateReport((data.draw(st.sampled_from(one.states)),)) for one in chosen
    }
    reports["depth_m"] = SizeReport(data.draw(st.floats(1, 60)))
    what = Colony("c", reports, "indo_pacific")
    genus = Determiner(compiled(), errors).posterior([what]).genus[0]
    assert genus.min() >= 0
    assert genus.sum() == pytest.approx(1, abs=1e-12)
