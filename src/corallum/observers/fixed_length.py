"""Tests of a set length: so many items, so many right to pass; exact by the binomial.

They stand beside the sequential test as the yardstick. A short quiz passes many an
observer whom it should not: `pass_chance` says how many, in numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

from scipy.stats import binom

from corallum.errors import Fault, InputError

__all__ = ["Aim", "FixedTest", "fixed_test", "pass_chance"]

_LONGEST = 20_000


@dataclass(frozen=True, slots=True)
class Aim:
    """What a qualification has to tell apart, and how often it may err.

    Parameters
    ----------
    good : float
        Accuracy that should pass, share of the survey's colonies named right, 0 to 1.
    poor : float
        Accuracy that should fail, below the good one.
    good_failed : float
        Largest chance that the good accuracy fails, below one half.
    poor_passed : float
        Largest chance that the poor accuracy passes, below one half.

    Raises
    ------
    InputError
        If the accuracies or chances mean nothing.
    """

    good: float = 0.90
    poor: float = 0.80
    good_failed: float = 0.05
    poor_passed: float = 0.05

    def __post_init__(self) -> None:
        faults = []
        if not 0 < self.poor < self.good < 1:
            found = f"{self.poor:g} and {self.good:g}"
            remedy = "Give the accuracy that fails first, as .80 and .90."
            faults.append(Fault("aim", "accuracies", "0 < poor < good < 1", found, remedy))
        for name in ("good_failed", "poor_passed"):
            chance = getattr(self, name)
            if not 0 < chance < 0.5:
                remedy = "Give .05 for one in twenty."
                faults.append(Fault("aim", name, "between 0 and .5", f"{chance:g}", remedy))
        if faults:
            raise InputError(faults)


@dataclass(frozen=True, slots=True)
class FixedTest:
    """A test of a set length.

    Parameters
    ----------
    n : int
        Items shown.
    mark : int
        Right answers needed to pass.
    good_failed, poor_passed : float
        The chances of either error that it has.
    """

    n: int
    mark: int
    good_failed: float
    poor_passed: float


def pass_chance(n: int, mark: int, accuracy: float) -> float:
    """Return how often a quiz passes an observer.

    Parameters
    ----------
    n : int
        Items, each drawn anew in the survey's proportions.
    mark : int
        Right answers needed to pass.
    accuracy : float
        Share of the survey's colonies that the observer names right, 0 to 1.

    Returns
    -------
    float
        Chance of passing, exact.

    Examples
    --------
    >>> round(pass_chance(20, 17, 0.80), 3)
    0.411
    """
    return float(binom.sf(mark - 1, n, accuracy))


def fixed_test(aim: Aim) -> FixedTest:
    """Return the shortest test of a set length that keeps both error rates.

    Parameters
    ----------
    aim : Aim
        What to tell apart.

    Returns
    -------
    FixedTest
        Smallest n at which some mark keeps both, and the lowest such mark.

    Raises
    ------
    InputError
        If the accuracies lie too close for a test that a person could sit.

    Examples
    --------
    >>> fixed_test(Aim()).n
    135
    """
    for n in range(1, _LONGEST + 1):
        marks = marks_that_keep(aim, n)
        if marks:
            mark = marks[0]
            return FixedTest(
                n, mark, 1 - pass_chance(n, mark, aim.good), pass_chance(n, mark, aim.poor)
            )
    found = f"{aim.poor:g} and {aim.good:g}"
    remedy = "Set the accuracies further apart or allow more error."
    raise InputError(
        [Fault("aim", "accuracies", f"a test of at most {_LONGEST} items", found, remedy)]
    )


def marks_that_keep(aim: Aim, n: int) -> range:
    """Return the pass marks at which a test of n items keeps both error rates."""
    lowest = int(binom.isf(aim.poor_passed, n, aim.poor)) + 1
    highest = int(binom.ppf(aim.good_failed, n, aim.good))
    if binom.cdf(highest, n, aim.good) <= aim.good_failed:
        highest += 1
    return range(lowest, highest + 1)
