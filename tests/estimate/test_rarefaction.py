"""Rarefaction and extrapolation: laws, corners and refusals."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.estimate.rarefaction import rarefy_to_coverage, rarefy_to_size, sample_coverage
from corallum.estimate.richness import estimate_chao
from corallum.estimate.tally import tally_colonies, tally_incidences

COUNTS = st.lists(st.integers(1, 40), min_size=1, max_size=20)
# A sample that shows that more is there: four genera once, two twice; invented.
SAMPLE = tally_colonies([20, 9, 5, 3, 2, 2, 1, 1, 1, 1])


@given(COUNTS)
def test_rarefying_to_all_gives_what_was_met(counts: list[int]) -> None:
    """At its own size a sample has its richness and coverage."""
    tally = tally_colonies(counts)
    found = rarefy_to_size(tally, tally.n)
    assert found.richness[0] == pytest.approx(len(counts))
    assert found.coverage[0] == pytest.approx(sample_coverage(tally))
    assert found.method == ("observed",)


@given(COUNTS)
def test_one_colony_is_one_genus(counts: list[int]) -> None:
    """A sample of one colony has one genus."""
    assert rarefy_to_size(tally_colonies(counts), 1).richness[0] == pytest.approx(1)


@given(COUNTS)
def test_more_colonies_mean_more_genera(counts: list[int]) -> None:
    """Richness and coverage never fall with size, across the sample's own size too."""
    tally = tally_colonies(counts)
    found = rarefy_to_size(tally, np.arange(1, 2 * tally.n + 2))
    assert (np.diff(found.richness) >= -1e-9).all()
    assert (np.diff(found.coverage) >= -1e-9).all()
    assert found.richness[-1] <= estimate_chao(tally).value + 1e-9


def test_every_way_to_draw_three() -> None:
    """Richness of 3 of 7 colonies is the mean over all 35 ways; so is the chance of a new one."""
    colonies = [0, 0, 0, 1, 1, 2, 3]
    ways = list(itertools.combinations(range(7), 3))
    expected = np.mean([len({colonies[i] for i in way}) for way in ways])
    # Coverage of 3 is 1 less the chance that a fourth colony is of a genus not met (Good 1953).
    new = [
        colonies[i] not in {colonies[j] for j in way} for way in ways for i in range(7)
        if i not in way
    ]  # fmt: skip
    found = rarefy_to_size(tally_colonies([3, 2, 1, 1]), 3)
    assert found.richness[0] == pytest.approx(expected)
    assert found.coverage[0] == pytest.approx(1 - np.mean(new))


def test_every_way_to_draw_two_transects() -> None:
    """Of transects, richness of 2 of 4 is the mean over all six pairs."""
    met = np.array([[1, 1, 0, 0], [1, 0, 1, 0], [1, 1, 0, 0], [1, 0, 0, 1]], bool)
    pairs = itertools.combinations(range(4), 2)
    expected = np.mean([met[list(pair)].any(axis=0).sum() for pair in pairs])
    found = rarefy_to_size(tally_incidences(met.sum(axis=0), 4), 2)
    assert found.richness[0] == pytest.approx(expected)


@given(st.floats(0.3, 0.98))
def test_coverage_and_size_are_inverse(wanted: float) -> None:
    """The sample that a coverage takes has that coverage."""
    found = rarefy_to_coverage(SAMPLE, wanted)
    assert found.coverage[0] == pytest.approx(wanted, abs=1e-9)
    whole = rarefy_to_size(SAMPLE, [np.floor(found.size[0]), np.ceil(found.size[0])])
    assert whole.richness[0] - 1e-9 <= found.richness[0] <= whole.richness[1] + 1e-9


@pytest.mark.parametrize("size", [1.0, 7.0, 44.0, 45.0, 46.0, 80.0])
def test_sizes_come_back_from_their_coverage(size: float) -> None:
    """A whole size is found again from its coverage, on either side of the sample's own."""
    coverage = rarefy_to_size(SAMPLE, size).coverage
    assert rarefy_to_coverage(SAMPLE, coverage).size[0] == pytest.approx(size, abs=1e-6)


def test_beyond_twice_the_sample_is_marked() -> None:
    """Extrapolation to more than twice the sample is too far."""
    found = rarefy_to_size(SAMPLE, [45, 90, 91])
    assert found.too_far.tolist() == [False, False, True]
    assert found.method == ("observed", "extrapolated", "extrapolated")


def test_extrapolation_meets_what_a_larger_sample_meets() -> None:
    """From seeded samples of 100, the richness expected of 200 is that of samples of 200.

    A mean over 300 samples, to half a genus; the samples of 100 themselves have 4 fewer.
    """
    share = 0.9 ** np.arange(40)
    share /= share.sum()
    rng = np.random.default_rng(8)
    small, large = rng.multinomial(100, share, size=300), rng.multinomial(200, share, size=300)
    expected = np.mean([rarefy_to_size(tally_colonies(one), 200).richness[0] for one in small])
    truth = (large > 0).sum(axis=1).mean()
    assert abs(expected - truth) < 0.5
    assert (small > 0).sum(axis=1).mean() < truth - 4


def test_coverage_meets_the_share_that_was_met() -> None:
    """Over seeded samples of 100 the estimated coverage is the true one to .01 on average."""
    share = 0.9 ** np.arange(40)
    share /= share.sum()
    samples = np.random.default_rng(9).multinomial(100, share, size=300)
    truth = np.mean([share[one > 0].sum() for one in samples])
    found = np.mean([sample_coverage(tally_colonies(one)) for one in samples])
    assert abs(found - truth) < 0.01


def test_large_counts_keep_their_digits() -> None:
    """Two genera of a million colonies each: 10 colonies miss one with chance 2 / 2^10."""
    found = rarefy_to_size(tally_colonies([10**6, 10**6]), 10)
    assert found.richness[0] == pytest.approx(2 - 2 / 2**10, abs=1e-5)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        pytest.param(1.2, "between 0 and 1, found 1.2", id="above 1"),
        pytest.param(0.0, "between 0 and 1, found 0.0", id="none"),
        pytest.param(0.01, "which a sample of one has", id="too little"),
    ],
)
def test_coverage_out_of_reach_is_refused(wanted: float, said: str) -> None:
    """A coverage that no sample has is refused."""
    with pytest.raises(InputError, match=said):
        rarefy_to_coverage(SAMPLE, wanted)


def test_a_sample_that_shows_no_more_is_rarefied_to_any_coverage() -> None:
    """With one genus met once and none twice, coverage is 1 and all less is rarefied."""
    tally = tally_colonies([3, 1])
    assert sample_coverage(tally) == 1
    assert rarefy_to_coverage(tally, 0.999999).method == ("rarefied",)


def test_sizes_that_are_not_whole_are_refused() -> None:
    """Half a colony is no sample."""
    with pytest.raises(InputError, match=r"whole numbers from 1, found 2\.5"):
        rarefy_to_size(SAMPLE, [3, 2.5])
