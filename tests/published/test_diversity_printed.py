"""Diversity against printed figures.

Spider counts of Ellison and others, as printed in Chao and others 2014, Ecological
Monographs 84:45-67, with figures of the user's guide of the R package iNEXT (to the digits
it prints). Ant frequencies of Longino and Colwell 2011, from the same guide. The whole table
of Barro Colorado is not beside this project: what needs it alone is not checked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from corallum.estimate.diversity import (
    asymptotic_hill,
    observed_hill,
    shannon_entropy,
    simpson_index,
    summarise_diversity,
)
from corallum.estimate.incidence import jackknife_first, jackknife_second
from corallum.estimate.rarefaction import rarefy_to_coverage, rarefy_to_size, sample_coverage
from corallum.estimate.richness import ChaoForm, estimate_ace, estimate_chao, fisher_alpha
from corallum.estimate.tally import Tally, tally_colonies, tally_incidences

GIRDLED = [46, 22, 17, 15, 15, 9, 8, 6, 6, 4, 2, 2, 2, 2] + [1] * 12
LOGGED = [88, 22, 16, 15, 13, 10, 8, 8, 7, 7, 7, 5, 4, 4, 4, 3, 3, 3, 3, 2, 2, 2, 2] + [1] * 14

# Vegetation of dune meadows, sites 1 to 5, as shipped with the R package vegan: recalled from
# memory; their richness, totals and all printed indices are the check that they are right.
DUNE = (
    [1, 4, 7, 4, 2],
    [3, 2, 3, 4, 4, 5, 4, 7, 5, 5],
    [4, 7, 2, 4, 6, 5, 6, 2, 2, 2],
    [8, 2, 2, 3, 2, 4, 5, 4, 5, 5, 2, 1, 2],
    [2, 4, 2, 2, 4, 2, 5, 2, 6, 5, 3, 2, 2, 2],
)

# Ants by elevation: transects, incidences, species, met on one and on two; then Chao2, and
# richness and coverage at two larger sizes.
ANTS = {
    "50 m": ((599, 5976, 227, 49, 23), 279.108514, (883, 245.732481, 0.9947564),
             (1198, 258.745498, 0.9968008)),
    "500 m": ((230, 2943, 241, 71, 34), 314.810038, (339, 267.977661, 0.9847564),
              (460, 286.546519, 0.9908005)),
    "1070 m": ((150, 1730, 122, 28, 16), 146.336667, (221, 132.189999, 0.9906634),
               (300, 138.600961, 0.9948946)),
    "1500 m": ((200, 1170, 56, 13, 4), 77.019375, (295, 61.343524, 0.9917391),
               (400, 65.684073, 0.9940265)),
    "2000 m": ((200, 271, 14, 1, 2), 14.248750, (295, 14.211194, 0.9994539),
               (400, 14.244103, 0.9999324)),
}  # fmt: skip


def ants(n: int, total: int, species: int, once: int, twice: int) -> Tally:
    """Build frequencies with these figures; extrapolation minds nothing else of them."""
    rest = species - once - twice
    spare = total - once - 2 * twice
    others = np.full(rest, spare // rest)
    others[: spare % rest] += 1
    return tally_incidences([*[1] * once, *[2] * twice, *others.tolist()], n)


@pytest.mark.parametrize(
    ("counts", "n", "species", "once", "twice", "coverage"),
    [(GIRDLED, 168, 26, 12, 4, 0.9289), (LOGGED, 252, 37, 14, 4, 0.9446)],
    ids=["girdled", "logged"],
)
def test_reference_samples(
    counts: list[int], n: int, species: int, once: int, twice: int, coverage: float
) -> None:
    """Size, species, singletons, doubletons and coverage are as printed (iNEXT guide, 4 d.p.)."""
    found = tally_colonies(counts)
    assert (found.n, found.richness, found.once, found.twice) == (n, species, once, twice)
    assert sample_coverage(found) == pytest.approx(coverage, abs=5e-5)


@pytest.mark.parametrize(
    ("counts", "observed", "asymptotic"),
    [
        (GIRDLED, (26, 12.059650, 7.840000), (43.892857, 13.826253, 8.174825)),
        (LOGGED, (37, 14.421002, 6.761499), (61.402778, 16.337069, 6.920350)),
    ],
    ids=["girdled", "logged"],
)
def test_hill_numbers(
    counts: list[int],
    observed: tuple[float, float, float],
    asymptotic: tuple[float, float, float],
) -> None:
    """Observed and asymptotic Hill numbers are as iNEXT prints them (6 d.p.)."""
    found = summarise_diversity(counts)
    here = (found.observed.richness, found.observed.shannon, found.observed.simpson)
    beyond = (found.asymptotic.richness, found.asymptotic.shannon, found.asymptotic.simpson)
    np.testing.assert_allclose(here, observed, atol=6e-7)
    np.testing.assert_allclose(beyond, asymptotic, atol=6e-7)


@pytest.mark.parametrize(
    ("counts", "form", "value"),
    [
        (GIRDLED, ChaoForm.SAMPLE_SIZE, 43.893),
        (LOGGED, ChaoForm.SAMPLE_SIZE, 61.403),
        # scikit-bio 0.7.0, both of its forms; 26 + 12 * 11 / 10 and 37 + 14 * 13 / 10 by hand.
        (GIRDLED, ChaoForm.CLASSIC, 44.0),
        (LOGGED, ChaoForm.CLASSIC, 61.5),
        (GIRDLED, ChaoForm.BIAS_CORRECTED, 39.2),
        (LOGGED, ChaoForm.BIAS_CORRECTED, 55.2),
    ],
)
def test_forms_of_chao1(counts: list[int], form: ChaoForm, value: float) -> None:
    """Each form of Chao1 gives its own printed value (3 d.p.)."""
    assert estimate_chao(tally_colonies(counts), form).value == pytest.approx(value, abs=5e-4)


@pytest.mark.parametrize(
    ("counts", "se", "low", "high"),
    [(GIRDLED, 14.306, 30.51, 96.97), (LOGGED, 18.532, 43.50, 128.59)],
    ids=["girdled", "logged"],
)
def test_error_of_chao1(counts: list[int], se: float, low: float, high: float) -> None:
    """The analytic SE and the log interval are those of Chao 1987 (SE from memory; 3 and 2 d.p.).

    The guide's own errors (17.219 and 19.692) come of a bootstrap and are others. The interval
    was reckoned apart from this project with z as 1.96, hence one unit of its last digit.
    """
    found = estimate_chao(tally_colonies(counts))
    assert found.se == pytest.approx(se, abs=6e-4)
    assert (found.low, found.high) == (pytest.approx(low, abs=0.01), pytest.approx(high, abs=0.01))


@pytest.mark.parametrize(("counts", "ace"), [(GIRDLED, 48.4152), (LOGGED, 52.6850)])
def test_ace(counts: list[int], ace: float) -> None:
    """ACE with rare up to 10 is what scikit-bio 0.7.0 gives (4 d.p.)."""
    assert estimate_ace(tally_colonies(counts)) == pytest.approx(ace, abs=6e-5)


def test_girdled_rarefied() -> None:
    """Girdled rarefied to 84 is 18.912 at coverage .900, to 1 it is 1 at .122 (iNEXT guide)."""
    found = rarefy_to_size(tally_colonies(GIRDLED), [1, 84])
    np.testing.assert_allclose(found.richness, [1.000, 18.912], atol=6e-4)
    np.testing.assert_allclose(found.coverage, [0.122, 0.900], atol=6e-4)
    assert found.method == ("rarefied", "rarefied")


@pytest.mark.parametrize(
    ("counts", "size", "richness", "coverage"),
    [
        # scipy's hypergeometric chances, summed apart from this project (4 d.p.).
        (GIRDLED, 50, 15.0301, 0.8675),
        (GIRDLED, 100, 20.4594, 0.9072),
        (LOGGED, 84, 23.7345, None),
        (LOGGED, 168, 31.7073, None),
        # Formula of Chao and Jost 2012, reckoned apart from this project (4 d.p.).
        (GIRDLED, 252, 31.0891, 0.9491),
        (GIRDLED, 336, 34.7307, 0.9636),
        (LOGGED, 504, 47.6445, 0.9687),
        # Printed by iNEXT in the guide of the R package divent.
        (GIRDLED, 300, 33.317733, 0.9579518),
    ],
)
def test_other_sizes(counts: list[int], size: int, richness: float, coverage: float | None) -> None:
    """Richness and coverage at other sizes are as reckoned or printed elsewhere."""
    found = rarefy_to_size(tally_colonies(counts), size)
    assert found.richness[0] == pytest.approx(richness, abs=6e-5)
    if coverage is not None:
        assert found.coverage[0] == pytest.approx(coverage, abs=6e-5)


@pytest.mark.parametrize("elevation", ANTS)
def test_ants_by_chao2(elevation: str) -> None:
    """Chao2 of the ants is as iNEXT prints it for each elevation (6 d.p.)."""
    figures, chao2, *_ = ANTS[elevation]
    assert estimate_chao(ants(*figures)).value == pytest.approx(chao2, abs=6e-7)


@pytest.mark.parametrize("elevation", ANTS)
def test_ants_extrapolated(elevation: str) -> None:
    """More transects would meet as many ants, at the coverage, that iNEXT prints (6 d.p.)."""
    figures, _, first, second = ANTS[elevation]
    found = rarefy_to_size(ants(*figures), [first[0], second[0]])
    np.testing.assert_allclose(found.richness, [first[1], second[1]], atol=6e-7)
    np.testing.assert_allclose(found.coverage, [first[2], second[2]], atol=6e-8)


@pytest.mark.parametrize(
    ("elevation", "size", "richness"),
    [("500 m", 342.8592, 268.725933), ("1070 m", 158.9508, 123.608792)],
)
def test_ants_at_one_coverage(elevation: str, size: float, richness: float) -> None:
    """At a coverage of .985 the ants take the printed transects and species (iNEXT 3)."""
    found = rarefy_to_coverage(ants(*ANTS[elevation][0]), 0.985)
    assert found.size[0] == pytest.approx(size, abs=6e-5)
    assert found.richness[0] == pytest.approx(richness, abs=6e-6)
    assert found.method == ("extrapolated",)


@pytest.mark.parametrize(
    ("counts", "richness", "total", "entropy", "simpson"),
    [
        (DUNE[0], 5, 18, 1.4405, 0.7346),
        (DUNE[1], 10, 42, 2.2525, 0.8900),
        (DUNE[2], 10, 40, 2.1937, 0.8788),
        (DUNE[3], 13, 45, 2.4268, 0.9007),
        (DUNE[4], 14, 43, 2.5444, 0.9140),
    ],
    ids=["1", "2", "3", "4", "5"],
)
def test_dune_meadows(
    counts: list[int], richness: int, total: int, entropy: float, simpson: float
) -> None:
    """Indices of dune meadows 1 to 5 are as vegan 2.6-4 prints them (4 d.p.)."""
    assert (len(counts), sum(counts)) == (richness, total)
    assert shannon_entropy(counts) == pytest.approx(entropy, abs=6e-5)
    assert simpson_index(counts) == pytest.approx(simpson, abs=6e-5)


def test_alpha_of_barro_colorado() -> None:
    """448 stems of 93 species give Fisher's alpha 35.67297 (vegan 2.6-4, plot 1)."""
    assert fisher_alpha(93, 448) == pytest.approx(35.67297, abs=6e-6)


def test_barro_colorado_by_plots() -> None:
    """225 species on 50 plots: Chao2 236.3732 (SE 6.54361) agrees with the jackknives.

    vegan 2.6-4 prints 245.58 and 247.8722 for the jackknives, which only 21 species on one
    plot and 19 on two can give; Chao2 and its error follow from these without a choice left.
    """
    found = tally_incidences([*[1] * 21, *[2] * 19, *[10] * 185], 50)
    assert jackknife_first(found) == pytest.approx(245.58, abs=6e-3)
    assert jackknife_second(found) == pytest.approx(247.8722, abs=6e-5)
    chao = estimate_chao(found)
    assert chao.value == pytest.approx(236.3732, abs=6e-5)
    assert chao.se == pytest.approx(6.54361, abs=6e-6)


def test_asymptotic_order_0_is_chao1() -> None:
    """The asymptotic Hill number of order 0 is Chao1 (Chao and others 2014)."""
    found = tally_colonies(LOGGED)
    assert asymptotic_hill(found).richness == estimate_chao(found).value
    assert observed_hill(LOGGED).richness == 37
