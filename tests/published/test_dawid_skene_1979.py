"""The anaesthetists of Dawid and Skene 1979, Applied Statistics 28:20-28.

Prevalences and observer 1's first row are as printed there, from memory. The other figures
come from EM in numpy by another hand, 30 rounds from the shares of votes, to the figures
given; crowd-kit 1.4.2 agrees with its prevalences and observer 1's rows to .002.
"""

from __future__ import annotations

import numpy as np
import pytest

from anaesthetists import patients
from corallum.observers.consensus import Consensus, ConsensusPlan, reach_consensus
from corallum.observers.starts import StartPlan

# Percent; rows are true grades 1 to 4, columns said ones.
ERRORS = {
    "1": [[88.9, 11.1, 0, 0], [7.1, 87.6, 5.3, 0], [0, 33.9, 66.1, 0], [0, 0, 55.6, 44.4]],
    "2": [[83.4, 16.6, 0, 0], [5.3, 63.3, 31.4, 0], [0, 0, 100, 0], [0, 0, 0, 100]],
    "3": [[100, 0, 0, 0], [10.6, 78.8, 10.5, 0], [0, 40.4, 19.9, 39.8], [0, 0, 66.7, 33.3]],
    "4": [[94.4, 5.6, 0, 0], [5.4, 84.3, 10.4, 0], [0, 0, 80.1, 19.9], [0, 0, 33.3, 66.7]],
    "5": [[100, 0, 0, 0], [15.9, 73.5, 10.6, 0], [0, 20.9, 79.1, 0], [0, 0, 33.3, 66.7]],
}
BELOW = {"7": (0.981, 0.019, 0, 0), "35": (0, 0.948, 0.052, 0), "38": (0, 0.021, 0.979, 0)}


@pytest.fixture(scope="module")
def found() -> Consensus:
    """The consensus from the votes."""
    return reach_consensus(
        patients(), np.random.default_rng(1), ConsensusPlan(starts=StartPlan(n=0))
    )


def test_log_likelihood(found: Consensus) -> None:
    """EM converges at a log likelihood of -192.8909."""
    assert found.fit.converged
    assert found.fit.log_likelihood == pytest.approx(-192.8909, abs=5e-5)


def test_prevalences(found: Consensus) -> None:
    """The grades have .400, .422, .112 and .067 of the patients."""
    np.testing.assert_allclose(found.fit.model.prevalence, [0.400, 0.422, 0.112, 0.067], atol=6e-4)


@pytest.mark.parametrize("observer", ERRORS)
def test_error_rates(found: Consensus, observer: str) -> None:
    """Each observer's whole table is that given, to .1 %."""
    matrix = found.fit.model.matrices[found.readings.observers.index(observer)]
    np.testing.assert_allclose(100 * matrix, ERRORS[observer], atol=0.06)


def test_patients_below_99_percent(found: Consensus) -> None:
    """Patients 7, 35 and 38 alone are below .99, with the posteriors given."""
    items = found.readings.items
    assert {items[i] for i in np.flatnonzero(found.probability < 0.99)} == set(BELOW)
    for patient, posterior in BELOW.items():
        row = found.fit.posterior[items.index(patient)]
        np.testing.assert_allclose(row, posterior, atol=6e-4)


def test_grades_of_patients(found: Consensus) -> None:
    """Patient 2 is of grade 4 and patient 3 of grade 2; 18, 19, 5 and 3 have each grade."""
    label = dict(zip(found.readings.items, found.label, strict=True))
    assert (label["2"], label["3"]) == (3, 1)
    assert np.bincount(found.label).tolist() == [18, 19, 5, 3]


def test_patient_35_is_the_one_to_adjudicate(found: Consensus) -> None:
    """Below .95 there is patient 35 alone; below .99 the three come least probable first."""
    items = np.array(found.readings.items)
    assert items[found.queue(0.95)].tolist() == ["35"]
    assert items[found.queue(0.99)].tolist() == ["35", "38", "7"]


def test_the_posterior_is_bayes_rule_at_the_printed_rates(found: Consensus) -> None:
    """Patient 7 by hand from the rates above: grade 1 has .981, by Bayes' rule."""
    said = {"1": "122", "2": "2", "3": "1", "4": "1", "5": "1"}
    joint = np.array([0.39955, 0.42198, 0.11180, 0.06667])
    for observer, grades in said.items():
        for grade in grades:
            joint = joint * np.array(ERRORS[observer])[:, int(grade) - 1]
    expected = joint / joint.sum()
    row = found.fit.posterior[found.readings.items.index("7")]
    np.testing.assert_allclose(row, expected, atol=2e-3)
