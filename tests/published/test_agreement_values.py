"""Coefficients of agreement against printed examples and general libraries."""

from __future__ import annotations

import numpy as np
import pytest

from anaesthetists import by_observer, counted
from corallum.observers.chance import item_agreement
from corallum.observers.cohen import as_agreement, cohen_kappa, cross_table, weighted_kappa
from corallum.observers.fleiss import fleiss_kappa
from corallum.observers.gwet import gwet_ac1
from corallum.observers.krippendorff import Level, krippendorff_alpha
from corallum.observers.paired import enumeration_difference, taxonomic_disagreement

# Cohen 1960, Educational and Psychological Measurement 20:37-46: 200 cases, as proportions.
COHEN = 200 * np.array([[0.44, 0.07, 0.09], [0.05, 0.20, 0.05], [0.01, 0.03, 0.06]])
# Fleiss, Cohen and Everitt 1969, Psychological Bulletin 72:323-327.
EVERITT = np.array([[106.0, 10, 4], [22, 28, 10], [2, 12, 6]])
EVERITT_WEIGHTS = np.array([[1, 0, 0.4444], [0, 1, 0.6667], [0.4444, 0.6667, 1]])
# Fleiss 1971, Psychological Bulletin 76:378-382: 30 patients, 6 raters; depression, personality
# disorder, schizophrenia, neurosis, other.
DIAGNOSES = (
    "00060", "03003", "01401", "00006", "03030", "20400", "00402", "20310", "20040", "00006",
    "10050", "11040", "03300", "10050", "02031", "00501", "30012", "51000", "02040", "10203",
    "00006", "01050", "02013", "20040", "10041", "05010", "40002", "02040", "10500", "00006",
)  # fmt: skip
# A widely reprinted example: 10 subjects, 14 raters, 5 categories.
FOURTEEN = (
    "0 0 0 0 14", "0 2 6 4 2", "0 0 3 5 6", "0 3 9 2 0", "2 2 8 1 1", "7 7 0 0 0", "3 2 6 3 0",
    "2 5 3 2 2", "6 5 2 1 0", "0 2 2 3 7",
)  # fmt: skip
# Krippendorff 2011, Computing Krippendorff's alpha-reliability, examples C and D; the same
# table is in Gwet 2014, Handbook of Inter-Rater Reliability.
FOUR_BY_TWELVE = (
    "1 2 3 3 2 1 4 1 2 . . .",
    "1 2 3 3 2 2 4 1 2 5 . 3",
    ". 3 3 3 2 3 4 2 2 5 1 .",
    "1 2 3 3 2 4 4 1 2 5 1 .",
)
BINARY = ("0 1 0 0 0 0 0 0 1 0", "1 1 1 0 0 1 0 0 0 0")


def test_cohens_example() -> None:
    """Kappa is .492 with po .70 and pc .41, at most .831, Cohen's own SE .055 (Cohen 1960)."""
    found = cohen_kappa(COHEN)
    assert found.coefficient.value == pytest.approx(0.492, abs=5e-4)
    assert (found.observed, found.expected) == (pytest.approx(0.70), pytest.approx(0.41))
    assert found.most == pytest.approx(0.831, abs=5e-4)
    assert found.se_cohen == pytest.approx(0.055, abs=5e-4)


def test_standard_errors_of_cohens_example() -> None:
    """The asymptotic SE is .0510, that under no agreement .0520 (statsmodels 0.15.0)."""
    found = cohen_kappa(COHEN)
    assert found.coefficient.se == pytest.approx(0.0510, abs=5e-5)
    assert found.se_null == pytest.approx(0.0520, abs=5e-5)


def test_weighted_kappa_with_disagreement_weights() -> None:
    """Weighted kappa is .348 (Cohen 1968, Psychological Bulletin 70:213-220, table 1)."""
    weights = as_agreement(np.array([[0.0, 1, 3], [1, 0, 6], [3, 6, 0]]))
    found = weighted_kappa(COHEN, weights)
    assert found.coefficient.value == pytest.approx(0.348, abs=5e-4)


def test_kappa_and_its_variance_of_fleiss_cohen_and_everitt() -> None:
    """Kappa is .429 with variance .00288 (Fleiss, Cohen and Everitt 1969, from memory)."""
    found = cohen_kappa(EVERITT).coefficient
    assert found.value == pytest.approx(0.429, abs=5e-4)
    assert found.se is not None
    assert found.se**2 == pytest.approx(0.00288, abs=6e-6)


def test_weighted_kappa_of_fleiss_cohen_and_everitt() -> None:
    """Weighted kappa with agreement weights is .507 (the same paper, from memory)."""
    found = weighted_kappa(EVERITT, EVERITT_WEIGHTS).coefficient
    assert found.value == pytest.approx(0.507, abs=5e-4)


@pytest.mark.parametrize("weights", [np.eye(3), EVERITT_WEIGHTS], ids=["plain", "weighted"])
def test_the_variance_is_that_of_the_delta_method(weights: np.ndarray) -> None:
    """Var = (sum p g^2 - (sum p g)^2) / N with g the slope of kappa, taken numerically."""
    p, n, step = EVERITT / EVERITT.sum(), EVERITT.sum(), 1e-6

    def kappa(share: np.ndarray) -> float:
        share = share / share.sum()
        chance = share.sum(axis=1) @ weights @ share.sum(axis=0)
        return float(((weights * share).sum() - chance) / (1 - chance))

    slope = np.zeros((3, 3))
    for cell in np.ndindex(3, 3):
        more, less = p.copy(), p.copy()
        more[cell] += step
        less[cell] -= step
        slope[cell] = (kappa(more) - kappa(less)) / (2 * step)
    expected = ((p * slope**2).sum() - (p * slope).sum() ** 2) / n
    found = weighted_kappa(EVERITT, weights).coefficient.se
    assert found is not None
    assert found**2 == pytest.approx(expected, rel=1e-6)


def test_the_psychiatric_diagnoses() -> None:
    """Kappa is .430 (P .556, Pe .220), with the printed shares and kappas (Fleiss 1971)."""
    found = fleiss_kappa(counted(*DIAGNOSES))
    assert found.coefficient.value == pytest.approx(0.430, abs=5e-4)
    assert (found.observed, found.expected) == (
        pytest.approx(0.556, abs=5e-4),
        pytest.approx(0.220, abs=5e-4),
    )
    np.testing.assert_allclose(found.share, [0.144, 0.144, 0.167, 0.306, 0.239], atol=6e-4)
    np.testing.assert_allclose(found.by_label, [0.245, 0.245, 0.520, 0.471, 0.566], atol=6e-4)


def test_z_of_the_psychiatric_diagnoses() -> None:
    """Kappa over its SE is 17.65 (Fleiss, Nee and Landis 1979; printed by R's irr)."""
    assert fleiss_kappa(counted(*DIAGNOSES)).z == pytest.approx(17.65, abs=5e-3)


def test_fourteen_raters() -> None:
    """Kappa of the widely reprinted example is .210."""
    found = fleiss_kappa(counted(*FOURTEEN)).coefficient
    assert found.value == pytest.approx(0.210, abs=5e-4)


def _alpha(lines: tuple[str, ...], level: Level, draws: int = 0) -> tuple[float, float, float]:
    """Alpha and its ends."""
    readings = by_observer(*lines)
    values = np.array([float(label) for label in readings.labels])
    rng = np.random.default_rng(1)
    found = krippendorff_alpha(readings.counts, level, values, rng, draws=draws)
    assert found.value is not None
    return found.value, found.low or np.nan, found.high or np.nan


@pytest.mark.parametrize(
    ("level", "printed"),
    [
        (Level.NOMINAL, 0.743),
        (Level.ORDINAL, 0.815),
        (Level.INTERVAL, 0.849),
        (Level.RATIO, 0.797),
    ],
)
def test_alpha_with_readings_missing(level: Level, printed: float) -> None:
    """Alpha of each level is that printed, to three figures (Krippendorff 2011)."""
    assert _alpha(FOUR_BY_TWELVE, level)[0] == pytest.approx(printed, abs=6e-4)


def test_alpha_of_two_observers_and_two_labels() -> None:
    """Alpha of example A is .095 (Krippendorff 2011)."""
    assert _alpha(BINARY, Level.NOMINAL)[0] == pytest.approx(0.095, abs=5e-4)


def test_ac1_with_readings_missing() -> None:
    """AC1 is .77544, SE .14295, interval .461 to 1 (Gwet 2014; irrCAC 0.4.4 prints the same)."""
    found = gwet_ac1(by_observer(*FOUR_BY_TWELVE).counts)
    assert found.value == pytest.approx(0.77544, abs=5e-6)
    assert found.se == pytest.approx(0.14295, abs=5e-6)
    assert (found.low, found.high) == (pytest.approx(0.461, abs=5e-4), 1.0)


def test_fleiss_kappa_with_readings_missing() -> None:
    """Fleiss' kappa of the same table is .76117 (Gwet 2014; irrCAC 0.4.4 prints the same)."""
    found = fleiss_kappa(by_observer(*FOUR_BY_TWELVE).counts).coefficient
    assert found.value == pytest.approx(0.76117, abs=5e-6)


def test_kappa_of_even_chance_with_readings_missing() -> None:
    """Observed agreement of the same table gives Brennan and Prediger's .77273 (irrCAC 0.4.4)."""
    observed = item_agreement(by_observer(*FOUR_BY_TWELVE).counts).observed
    assert (observed - 1 / 5) / (1 - 1 / 5) == pytest.approx(0.77273, abs=5e-6)


def test_percent_taxonomic_disagreement() -> None:
    """120 and 118 specimens, 104 agreed, are 13.33 % (Stribling et al. 2003; by hand)."""
    assert taxonomic_disagreement(104, 120, 118) == pytest.approx(13.33, abs=5e-3)


def test_percent_difference_in_enumeration() -> None:
    """120 and 118 differ by .840 % of their sum, 1.681 % of their mean (by hand)."""
    assert enumeration_difference(120, 118) == pytest.approx(0.840, abs=5e-4)
    assert enumeration_difference(120, 118, of_mean=True) == pytest.approx(1.681, abs=5e-4)


def _random_table(rng: np.random.Generator) -> np.ndarray:
    """Labels of 40 items by 4 observers, some missing, as 1 to 4 or NaN."""
    truth = rng.integers(1, 5, size=40)
    said = np.where(rng.random((40, 4)) < 0.7, truth[:, None], rng.integers(1, 5, size=(40, 4)))
    return np.where(rng.random((40, 4)) < 0.15, np.nan, said)


@pytest.mark.parametrize("level", list(Level))
def test_alpha_is_that_of_a_general_library(level: Level) -> None:
    """On ten random tables alpha is that of the package krippendorff to 1e-10."""
    library = pytest.importorskip("krippendorff", reason="krippendorff is not installed")
    rng = np.random.default_rng(7)
    for _ in range(10):
        table = _random_table(rng)
        expected = library.alpha(reliability_data=table.T, level_of_measurement=level.value)
        lines = [
            " ".join("." if np.isnan(x) else str(int(x)) for x in column) for column in table.T
        ]
        assert _alpha(tuple(lines), level)[0] == pytest.approx(expected, abs=1e-10)


def test_kappas_are_those_of_a_general_library() -> None:
    """On ten random tables the kappas and standard errors are those of statsmodels to 1e-10."""
    rater = pytest.importorskip(
        "statsmodels.stats.inter_rater", reason="statsmodels is not installed"
    )
    rng = np.random.default_rng(8)
    for _ in range(10):
        table = np.nan_to_num(_random_table(rng), nan=1.0).astype(np.int64) - 1
        cross = cross_table(table[:, 0], table[:, 1], 4)
        weights = np.abs(np.subtract.outer(np.arange(4.0), np.arange(4.0)))
        plain, steps = rater.cohens_kappa(cross), rater.cohens_kappa(cross, weights=weights)
        own, weighted = cohen_kappa(cross), weighted_kappa(cross, as_agreement(weights))
        assert own.coefficient.value == pytest.approx(plain.kappa, abs=1e-10)
        assert own.coefficient.se == pytest.approx(plain.std_kappa, abs=1e-10)
        assert own.se_null == pytest.approx(plain.std_kappa0, abs=1e-10)
        assert weighted.coefficient.value == pytest.approx(steps.kappa, abs=1e-10)
        assert weighted.coefficient.se == pytest.approx(steps.std_kappa, abs=1e-10)
        counts = np.stack([np.bincount(row, minlength=4) for row in table])
        found = fleiss_kappa(counted(*(" ".join(map(str, row)) for row in counts)))
        assert found.coefficient.value == pytest.approx(rater.fleiss_kappa(counts), abs=1e-10)
