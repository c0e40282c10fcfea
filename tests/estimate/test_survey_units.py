"""Sites or transects as units: sums stay, intervals grow where transects at a site are alike."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.estimate.ratio import estimate_ratio
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_figures import NoCorrection, PlaceFigures, Wanted, figures_of
from corallum.estimate.survey_table import Grouping, SurveyTable
from corallum.estimate.survey_units import fewest_sites, fold_sites, site_effect


def table(met: np.ndarray, site: np.ndarray, stratum: np.ndarray | None = None) -> SurveyTable:
    """A survey of coral and other cover on tapes of 100."""
    n = len(site)
    amounts = np.column_stack([met, 100.0 - met])
    h = np.zeros(n, np.int64) if stratum is None else stratum
    sites = tuple(f"S{i}" for i in range(int(site.max()) + 1))
    return SurveyTable(
        ("Porites", "rock"), np.array([True, False]), np.array([True, False]),
        tuple(f"T{i}" for i in range(n)), sites, tuple(f"H{i}" for i in range(int(h.max()) + 1)),
        ("o",), site, h, np.zeros(n, np.int64), np.ones(int(h.max()) + 1), amounts,
        np.ones_like(amounts), np.full(n, 100.0), np.zeros((n, 2, 2)), is_cover=True,
    )  # fmt: skip


CORAL = Grouping(("Porites",), np.array([[1.0], [0.0]]))


def estimate(survey: SurveyTable, *, by_site: bool) -> PlaceFigures:
    """Figures of the whole survey."""
    wanted = Wanted(("survey",), Resampling(200), by_site)
    return figures_of(survey, CORAL, NoCorrection(), np.random.default_rng(1), wanted)[0]


@given(st.integers(0, 10_000))
def test_folding_keeps_what_was_met_and_searched(seed: int) -> None:
    """Sites add up to their transects, in the order of the sites."""
    rng = np.random.default_rng(seed)
    site = rng.integers(0, 5, 12)
    survey = table(rng.uniform(0, 100, 12), site)
    folded = fold_sites(survey)
    assert folded.met.sum(axis=0) == pytest.approx(survey.met.sum(axis=0))
    assert folded.searched.sum() == pytest.approx(survey.searched.sum())
    assert folded.transects == tuple(f"S{i}" for i in np.unique(site))
    for row, i in enumerate(np.unique(site).tolist()):
        assert folded.met[row] == pytest.approx(survey.met[site == i].sum(axis=0))


def test_by_site_is_the_ratio_of_site_sums() -> None:
    """Figure and standard error are Cochran's ratio estimator (1977, section 6.3) of site sums."""
    met = np.array([10.0, 20, 30, 35, 50, 55, 20, 30])
    site = np.array([0, 0, 1, 1, 2, 2, 3, 3])
    found = estimate(table(met, site), by_site=True)
    wanted = estimate_ratio([30.0, 65, 105, 50], [200.0, 200, 200, 200])
    assert found.uncorrected.value[0] == pytest.approx(float(wanted.value))
    assert found.uncorrected.se[0] == pytest.approx(float(wanted.se), rel=1e-9)
    assert found.transects == 8
    assert found.degrees == 3


def test_the_effect_of_sites_is_that_of_clusters() -> None:
    """Where all transects of a site agree, m to a site, the effect is near the root of m."""
    site = np.repeat(np.arange(40), 4)
    met = np.repeat(np.linspace(5, 95, 40), 4)
    # Cochran 1977, section 9.4: design effect 1 + (m - 1) rho with rho 1.
    assert site_effect(table(met, site), np.array([True, False])) == pytest.approx(2.0, abs=0.05)


def test_a_stratum_of_one_site_has_no_effect_to_tell() -> None:
    """With one site in a stratum nothing can be said between sites."""
    site, stratum = np.array([0, 0, 1, 1, 2, 2]), np.array([0, 0, 0, 0, 1, 1])
    survey = table(np.array([1.0, 2, 3, 4, 5, 6]), site, stratum)
    assert fewest_sites(survey) == 1
    assert np.isnan(site_effect(survey, np.array([True, False])))


def test_intervals_hold_where_sites_differ_only_by_site() -> None:
    """Of 300 surveys of sites that differ, by site nine of ten hold the truth, by transect not."""
    rng = np.random.default_rng(12)
    site = np.repeat(np.arange(24), 6)
    holds = np.zeros(2)
    for _ in range(300):
        centre = rng.normal(40, 15, 24)[site]
        met = np.clip(rng.normal(centre, 8), 0.0, 100.0)
        for i, by_site in enumerate((False, True)):
            one = estimate(table(met, site), by_site=by_site).uncorrected
            holds[i] += one.low[0] <= 0.40 <= one.high[0]
    assert holds[1] / 300 >= 0.95 - 3 * np.sqrt(0.95 * 0.05 / 300)
    assert holds[0] / 300 < 0.8
