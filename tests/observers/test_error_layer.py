"""Errors learned from answers: exact where they can be, and the laws that they must keep."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.stats import beta, dirichlet
from told import Pair, answered, pair, walls

from corallum.model.errors import Observer, state_errors
from corallum.model.likelihood import Kernel
from corallum.observers.answered import Answered, join_answered
from corallum.observers.error_layer import ErrorPosterior, learn_errors
from corallum.observers.group_errors import DEFAULT_STRENGTH, default_group
from corallum.records.colony import Colony, SizeReport, StateReport
from model.slow_model import SlowModel
from support import compiled

WALL, TEXTURE = "corallite_arrangement", "coenosteum_texture"


@cache
def kernel(*, misread: bool = True) -> Kernel:
    """The kernel of an unknown observer; without misread groups where counts are exact."""
    return Kernel(compiled(), misread=misread)


def learned(pairs: list[Pair] | Answered, *, misread: bool = True) -> ErrorPosterior:
    """What is learned of one observer whose group is not known."""
    beside = pairs if isinstance(pairs, Answered) else answered(pairs)
    return learn_errors(kernel(misread=misread), default_group(compiled()), beside)


def index(id_: str, *states: str) -> tuple[int, ...]:
    """Index of a character, then the columns of some states."""
    c = compiled().character_index[id_]
    return (c, *(compiled().characters[c].states.index(state) for state in states))


def prior_rows(id_: str) -> np.ndarray:
    """Rows of an unknown observer, the last column left off."""
    return state_errors(compiled().characters[index(id_)[0]], Observer.UNKNOWN)[:-1, :-1]


def test_without_answers_the_posterior_is_the_prior() -> None:
    """Rates are those of an unknown observer, and so is the eye."""
    found = learned([])
    assert found.n == 0
    assert found.seen == {}
    own = found.own_errors(compiled())
    for one in compiled().characters:
        if not one.is_size:
            expected = state_errors(one, Observer.UNKNOWN)
            np.testing.assert_allclose(own.states[one.id], expected, rtol=0, atol=1e-12)
    eye = compiled().methods["eye"]
    sd = (sum(eye.observer_sd) / 2) ** 2 + eye.each_sd**2
    assert own.eye_sd == pytest.approx(np.sqrt(sd), rel=1e-12)
    assert own.eye_bias == pytest.approx(sum(eye.bias) / 2, rel=1e-12)


def test_counts_are_exact_where_no_group_is_misread() -> None:
    """Prior worth and answers add up; mean and interval are the Dirichlet's, by SciPy."""
    found = learned(walls({"plocoid": 7, "cerioid": 3, "phaceloid": 1}), misread=False)
    c, plocoid, cerioid, phaceloid = index(WALL, "plocoid", "cerioid", "phaceloid")
    alpha = DEFAULT_STRENGTH * prior_rows(WALL)[plocoid]
    alpha[[plocoid, cerioid, phaceloid]] += [7, 3, 1]
    for said in range(len(alpha)):
        mean, low, high = found.rate(c, plocoid, said)
        rest = alpha.sum() - alpha[said]
        assert mean == pytest.approx(dirichlet.mean(alpha)[said], abs=1e-12)
        assert low == pytest.approx(beta.ppf(0.05, alpha[said], rest), abs=1e-9)
        assert high == pytest.approx(beta.ppf(0.95, alpha[said], rest), abs=1e-9)
    untouched = DEFAULT_STRENGTH * prior_rows(WALL)[cerioid]
    np.testing.assert_allclose(found.counts[c][cerioid], untouched, rtol=0, atol=1e-12)


def test_an_unsure_report_counts_less() -> None:
    """A report marked unsure counts one less the share of guesses, .6."""
    unsure = StateReport(("cerioid",), sure=False)
    found = learned([pair({WALL: "plocoid"}, {WALL: unsure})], misread=False)
    c, plocoid, cerioid = index(WALL, "plocoid", "cerioid")
    assert found.seen[c][plocoid, cerioid] == pytest.approx(0.6, abs=1e-12)
    assert found.seen[c].sum() == pytest.approx(0.6, abs=1e-12)


def test_a_report_of_a_set_is_shared_among_its_states() -> None:
    """Means equal the exact ones: a mixture of one Dirichlet for each state of the set."""
    found = learned([pair({WALL: "plocoid"}, {WALL: ["plocoid", "cerioid"]})], misread=False)
    c, a, b = index(WALL, "plocoid", "cerioid")
    alpha = DEFAULT_STRENGTH * prior_rows(WALL)[a]
    chance = alpha[a] / (alpha[a] + alpha[b])
    first, second = alpha.copy(), alpha.copy()
    first[a] += 1
    second[b] += 1
    exact = chance * dirichlet.mean(first) + (1 - chance) * dirichlet.mean(second)
    means = [found.rate(c, a, said)[0] for said in range(len(alpha))]
    # The rounds end where nothing moves by a millionth.
    np.testing.assert_allclose(means, exact, rtol=0, atol=1e-6)


def test_a_view_teaches_of_its_character() -> None:
    """A wall reported as shared is a set of arrangements, of which only the shared ones count."""
    found = learned([pair({WALL: "cerioid"}, {"openings": "calices"})], misread=False)
    c, cerioid = index(WALL, "cerioid")
    assert found.seen[c][cerioid].sum() == pytest.approx(1, abs=1e-12)
    pores = index(WALL, "pores_one_size")[1]
    assert found.seen[c][cerioid, pores] == 0


@pytest.mark.parametrize("said", ["not_applicable", "not_looked_at"])
def test_what_is_no_state_teaches_nothing_of_states(said: str) -> None:
    """Not applicable and not looked at leave every count as it was."""
    found = learned([pair({"groove_between": "present"}, {"groove_between": said})])
    c = index("groove_between")[0]
    expected = DEFAULT_STRENGTH * prior_rows("groove_between")
    np.testing.assert_allclose(found.counts[c], expected, rtol=0, atol=1e-12)


def test_a_report_without_a_truth_beside_it_teaches_nothing() -> None:
    """What an item does not show is not judged."""
    found = learned([pair({"growth_form": "massive"}, {WALL: "cerioid"})])
    plain = learned([pair({"growth_form": "massive"}, {})])
    for c, counts in plain.counts.items():
        np.testing.assert_allclose(found.counts[c], counts, rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    "said",
    [
        pytest.param({WALL: "cerioid"}, id="a likely slip"),
        pytest.param({WALL: "meandroid"}, id="an unlikely slip"),
        pytest.param({WALL: "cerioid", TEXTURE: "spinose"}, id="two slips"),
        pytest.param({WALL: "meandroid", TEXTURE: "spinose"}, id="two unlikely slips"),
    ],
)
def test_one_colony_counts_by_its_exact_chance_of_not_being_misread(said: dict[str, str]) -> None:
    """With nothing else known, Bayes' rule on the prior rates says what a group counts."""
    true = {WALL: "plocoid", TEXTURE: "smooth"}
    found = learned([pair(true, said)])
    reports: list[tuple[int, StateReport | SizeReport]] = [
        (index(id_)[0], StateReport((state,))) for id_, state in said.items()
    ]
    wall = compiled().groups[1]
    base = SlowModel(compiled()).base(1, reports, Colony("", {})) * wall.misread
    kept = 1 - wall.misread
    for id_, state in said.items():
        _, t, s = index(id_, true[id_], state)
        kept *= float(prior_rows(id_)[t, s])
    for id_, state in said.items():
        c, t, s = index(id_, true[id_], state)
        assert found.seen[c][t, s] == pytest.approx(kept / (kept + base), abs=1e-6)


def test_right_reports_count_nearly_in_full() -> None:
    """A group that is reported as it is was hardly misread."""
    true = {WALL: "plocoid", "coenosteum_texture": "spinose", "groove_between": "present"}
    found = learned([pair(true, dict(true))])
    for id_, state in true.items():
        c, t = index(id_, state)
        assert found.seen[c][t, t] > 0.95


def test_an_impossible_size_is_taken_for_a_misread_group() -> None:
    """A width a tenth of the true one hardly moves the bias; one too large by a third does."""
    width = "calice_diameter_mm"
    usual = [pair({width: 8.0}, {width: 8.6}) for _ in range(6)]
    plain = learned(usual).eye.bias
    odd = learned([*usual, pair({width: 8.0}, {width: 0.8})]).eye.bias
    larger = learned([*usual, pair({width: 8.0}, {width: 10.7})]).eye.bias
    assert abs(odd - plain) < 0.01
    assert larger - plain > 0.015


def test_a_ruler_teaches_nothing_of_the_eye() -> None:
    """Only sizes judged by eye count for the eye."""
    width = "calice_diameter_mm"
    assert learned([pair({width: 8.0}, {width: 9.0})]).eye.n > 0.9
    assert learned([pair({width: 8.0}, {width: SizeReport(9.0, 5, "ruler")})]).eye.n == 0


@cache
def mixed_answers() -> tuple[Pair, ...]:
    """Some dozens of answers, right and wrong, sure and unsure, sets and sizes."""
    rng = np.random.default_rng(4)
    ids = [one.id for one in compiled().characters if not one.is_size][:14]
    pairs = []
    for _ in range(40):
        true: dict[str, str | float] = {"calice_diameter_mm": float(rng.uniform(2, 12))}
        said: dict[str, object] = {
            "calice_diameter_mm": float(true["calice_diameter_mm"]) * float(rng.lognormal(0.1, 0.3))
        }
        for id_ in rng.choice(ids, 5, replace=False).tolist():
            states = compiled().characters[index(id_)[0]].states
            true[id_] = states[int(rng.integers(len(states)))]
            named = {true[id_] if rng.random() < 0.7 else states[int(rng.integers(len(states)))]}
            if rng.random() < 0.2 and len(states) > 3:
                named.add(states[0])
            said[id_] = StateReport(tuple(sorted(map(str, named))), bool(rng.random() < 0.8))
        pairs.append(pair(true, said))  # type: ignore[arg-type]
    return tuple(pairs)


def assert_same(one: ErrorPosterior, other: ErrorPosterior) -> None:
    """Two posteriors agree to a billionth."""
    for c, counts in one.counts.items():
        np.testing.assert_allclose(other.counts[c], counts, rtol=0, atol=1e-9)
    assert other.eye.bias == pytest.approx(one.eye.bias, abs=1e-9)
    assert other.eye.sd == pytest.approx(one.eye.sd, abs=1e-9)
    assert other.n == one.n


def test_the_order_of_answers_is_irrelevant() -> None:
    """Answers in another order teach the same."""
    pairs = list(mixed_answers())
    shuffled = [pairs[i] for i in np.random.default_rng(3).permutation(len(pairs)).tolist()]
    assert_same(learned(pairs), learned(shuffled))


def test_joined_answers_teach_what_all_at_once_do() -> None:
    """Three parts put after each other, one of them empty, equal the whole."""
    pairs = list(mixed_answers())
    parts = [answered(pairs[:11]), answered([]), answered(pairs[11:])]
    assert_same(learned(pairs), learned(join_answered(parts)))


def test_more_of_the_same_answers_narrow_the_interval() -> None:
    """Ten times the answers leave a narrower interval around the share that was said."""
    c, plocoid, cerioid = index(WALL, "plocoid", "cerioid")
    few = learned(walls({"plocoid": 6, "cerioid": 4})).rate(c, plocoid, cerioid)
    many = learned(walls({"plocoid": 60, "cerioid": 40})).rate(c, plocoid, cerioid)
    assert many[2] - many[1] < 0.7 * (few[2] - few[1])
    assert abs(many[0] - 0.4) < abs(few[0] - 0.4)


def test_what_is_misjudged_comes_worst_first() -> None:
    """A wall taken for another in most answers leads the list; too few looks are left out."""
    pairs = walls({"plocoid": 4, "cerioid": 8})
    pairs += [pair({"growth_form": "massive"}, {"growth_form": "encrusting"})] * 2
    found = learned(pairs).misjudged(compiled())
    assert (found[0].character, found[0].true, found[0].said) == (WALL, "plocoid", "cerioid")
    assert found[0].low < found[0].mean < found[0].high
    assert found[0].mean > found[0].group
    assert {one.character for one in found} == {WALL}


def test_a_density_is_the_beta_of_its_row() -> None:
    """The density of one rate adds up to one and has the rate's mean."""
    found = learned(walls({"plocoid": 6, "cerioid": 4}), misread=False)
    c, a, b = index(WALL, "plocoid", "cerioid")
    at = np.linspace(0, 1, 20001)[1:-1]
    density = found.density(c, a, b, at)
    assert density.mean() == pytest.approx(1, abs=1e-3)
    assert (density * at).mean() == pytest.approx(found.rate(c, a, b)[0], abs=1e-3)
