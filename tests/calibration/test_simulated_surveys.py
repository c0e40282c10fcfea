"""Surveys of known truth: corrected intervals hold it, and observers alone change nothing.

A small part of the study in ``bench/surveys.py``. Wanted, by the plan of this program and
not by any output: for genera of 2 % of the corals or more, 93 to 97 % of 95 % intervals hold
the truth, correction leaves less than a fifth of the error of the mean, and at most 6.4 % of
changes are false where only the observers changed. Bounds around these are binomial, from
the number of intervals looked at; beyond them by chance one time in a hundred.
"""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom

from simulated_surveys import (
    GENERA,
    NOT_CORAL,
    UNIDENTIFIED,
    Making,
    draw_observers,
    draw_reef,
    draw_survey,
    lay_transects,
    read_again,
)
from survey_study import Flags, Outcome, join, study_survey

pytestmark = pytest.mark.calibration

SURVEYS, HARD_SURVEYS = 60, 30
# Many transects and few second readings: most of the doubt is in the names.
HARD, HARD_SHARE = Making(transects=(90, 75, 60)), 0.02
LOWEST, HIGHEST, FALSE_CHANGE, FIFTH = 0.93, 0.97, 0.064, 0.2
CHANCE = 0.01
OPEN_DATA = Path(__file__).parents[3] / "shared" / "data" / "palau_yap_line_intercepts.csv"


@cache
def study() -> Outcome:
    """Surveys with a tenth of their records read again."""
    return join(study_survey(number) for number in range(SURVEYS))


@cache
def hard_study() -> Outcome:
    """Surveys in which names are the larger doubt."""
    return join(study_survey(n, making=HARD, share=HARD_SHARE) for n in range(HARD_SURVEYS))


def hits(found: Outcome, flags: Flags) -> tuple[int, int]:
    """Count flags among common genera, and these."""
    count, n = int(flags[found.common].sum()), int(found.common.sum())
    print(f"\n{count} of {n}: {count / n:.1%}")
    return count, n


def lowest(n: int, share: float) -> int:
    """Fewest hits of n that chance allows."""
    return int(binom.ppf(CHANCE / 2, n, share))


def highest(n: int, share: float) -> int:
    """Most hits of n that chance allows."""
    return int(binom.ppf(1 - CHANCE / 2, n, share))


def mean_error(found: Outcome, name: str) -> tuple[float, float]:
    """Mean departure from what perfect names had made of the transects, and its error."""
    own = np.where(found.common, getattr(found, name) - found.perfect, 0).sum(axis=1)
    return float(own.mean()), float(own.std(ddof=1) / np.sqrt(len(own)))


@pytest.mark.parametrize("surveys", [study, hard_study], ids=["usual", "few second readings"])
def test_corrected_intervals_hold_the_truth(surveys: Callable[[], Outcome]) -> None:
    """Of the corrected 95 % intervals 93 to 97 % hold the reef's cover, but for chance."""
    found = surveys()
    count, n = hits(found, found.holds)
    assert lowest(n, LOWEST) <= count <= highest(n, HIGHEST)


@pytest.mark.parametrize("surveys", [study, hard_study], ids=["usual", "few second readings"])
def test_uncorrected_intervals_do_not(surveys: Callable[[], Outcome]) -> None:
    """Negative control: uncorrected intervals hold it in fewer than chance allows."""
    found = surveys()
    count, n = hits(found, found.uncorrected_holds)
    assert count < lowest(n, LOWEST)


def test_intervals_must_carry_the_doubt_of_names() -> None:
    """Negative control: without the variance of second readings too few hold the truth."""
    found = hard_study()
    count, n = hits(found, found.names_left_out)
    assert count < lowest(n, LOWEST)


def test_correction_takes_the_error_of_the_mean_away() -> None:
    """Less than a fifth of the uncorrected mean error is left, and that error is there."""
    corrected, _ = mean_error(study(), "corrected")
    uncorrected, error = mean_error(study(), "uncorrected")
    print(f"\ncorrected {corrected / uncorrected:+.3f} times the uncorrected mean error")
    assert abs(uncorrected) > 5 * error
    assert abs(corrected) < FIFTH * abs(uncorrected)


def test_second_readings_must_be_drawn_at_random() -> None:
    """Negative control: with wrong records favoured five to one more than a fifth is left."""
    favoured, error = mean_error(study(), "favoured")
    uncorrected, _ = mean_error(study(), "uncorrected")
    print(f"\nfavoured {favoured / uncorrected:+.3f} times the uncorrected mean error")
    assert abs(favoured) - 3 * error > FIFTH * abs(uncorrected)


@pytest.mark.parametrize("name", ["same_transects", "new_transects"])
def test_other_observers_are_no_change(name: str) -> None:
    """At most 6.4 % of changes at the 5 % level are found where only observers changed."""
    count, n = hits(study(), getattr(study(), name))
    assert count <= highest(n, FALSE_CHANGE)


def test_uncorrected_other_observers_look_like_change() -> None:
    """Negative control: uncorrected, the same transects have changed too often."""
    count, n = hits(study(), study().uncorrected_same)
    assert count > highest(n, FALSE_CHANGE)


def test_a_survey_depends_on_seed_and_number_alone() -> None:
    """One survey made twice is the same, and another number is another survey."""
    one, same, other = study_survey(3), study_survey(3), study_survey(4)
    np.testing.assert_array_equal(one.corrected, same.corrected)
    assert not np.array_equal(one.corrected, other.corrected)


def test_perfect_names_are_right_on_average() -> None:
    """What perfect names make of the transects is the reef's cover but for three errors."""
    off = (study().perfect - study().truth)[:, :5]
    assert (np.abs(off.mean(axis=0)) < 3 * off.std(axis=0, ddof=1) / np.sqrt(SURVEYS)).all()


def test_second_readings_are_among_the_records() -> None:
    """Ten or a tenth of each name is read again, never more than there is."""
    rng = np.random.default_rng(1)
    _, survey = draw_survey(rng)
    again = read_again(survey, rng)
    records, number = survey.said.sum(axis=0), again.sum(axis=(0, 2))
    assert (again <= survey.records).all()
    np.testing.assert_array_equal(
        number, np.minimum(records, np.maximum(10, np.ceil(records / 10)))
    )


def test_what_is_true_is_never_unidentified() -> None:
    """Nothing is truly "unidentified", and the truth adds up to the whole reef."""
    reef, survey = draw_survey(np.random.default_rng(2))
    assert survey.records[:, :, UNIDENTIFIED].sum() == 0
    assert survey.said[:, UNIDENTIFIED].sum() > 0
    assert reef.cover[UNIDENTIFIED] == 0
    assert reef.cover.sum() == pytest.approx(1)


def test_observers_are_as_skilled_as_said() -> None:
    """Observers name .75 to .97 of records right, averaged over genera within .05 at either end."""
    rng = np.random.default_rng(3)
    reef = draw_reef(rng)
    right = np.concatenate(
        [draw_observers(reef, rng)[:, range(GENERA), range(GENERA)] for _ in range(20)]
    ).mean(axis=1)
    assert right.min() == pytest.approx(0.75, abs=0.05)
    assert right.max() == pytest.approx(0.97, abs=0.05)


@pytest.mark.skipif(not OPEN_DATA.exists(), reason="the open data are not beside the checkout")
def test_transects_differ_as_those_of_palau_and_yap() -> None:
    """Cover of corals, and of genera of 2 to 5 % of them, spreads as on reefs of Palau and Yap.

    van Woesik R. and Cacciapaglia C. 2017, BCO-DMO data set 737508: standard deviations of
    corals within 5 points; coefficients of variation, a median each, within a quarter.
    """
    measured = [_measured(country) for country in ("Palau", "Yap")]
    rng = np.random.default_rng(4)
    invented = []
    for _ in range(20):
        transects = lay_transects(draw_reef(rng), rng)
        invented.append(rng.multinomial(transects.points, transects.cover)[:, : GENERA + 1])
    spreads = [_spread(m / m.sum(axis=1, keepdims=True), NOT_CORAL) for m in invented]
    corals, genera = np.mean([s for s, _ in spreads]), np.concatenate([c for _, c in spreads])
    real = np.concatenate([c for _, c in measured])
    print(f"\ncorals {corals:.3f}, genera {np.median(genera):.2f} beside {np.median(real):.2f}")
    assert corals == pytest.approx(np.mean([s for s, _ in measured]), abs=0.05)
    assert np.median(genera) == pytest.approx(np.median(real), rel=0.25)


def _measured(country: str) -> tuple[float, np.ndarray]:
    """Spread of corals and of genera between transects of a country."""
    found: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    with OPEN_DATA.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["country"] == country and row["order_error"] == "0":
                own = found[row["site"], row["transect"]]
                own[row["genus"]] += float(row["intercept_cm"])
    names = sorted({name for own in found.values() for name in own})
    met = np.array([[own[name] for name in names] for own in found.values()])
    return _spread(met / met.sum(axis=1, keepdims=True), names.index(""))


def _spread(cover: np.ndarray, not_coral: int) -> tuple[float, np.ndarray]:
    """Standard deviation of corals, and coefficients of variation of genera of 2 to 5 %."""
    genera = np.delete(cover, not_coral, axis=1)
    share = genera.mean(axis=0) / genera.mean(axis=0).sum()
    some = genera[:, (share >= 0.02) & (share < 0.05)]
    return float(genera.sum(axis=1).std()), some.std(axis=0) / some.mean(axis=0)
