"""Correction by observers' errors and second readings together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from corallum.estimate.bayes_correction import SamplingPlan
from corallum.estimate.by_errors import ByErrors, learn_names
from corallum.estimate.resampled_cover import Resampling
from corallum.estimate.survey_figures import Wanted, figures_of
from corallum.estimate.survey_table import SurveyTable, group_labels
from invented_tables import GENERA, LABELS, invent_table

SURE, N = 1e5, len(GENERA)


def rows(table: SurveyTable, right: float = 1.0, of: str = "Favites") -> np.ndarray:
    """Errors that are known beyond doubt: one genus is named right so often, else Goniastrea."""
    known = np.full((N, N + 1), 1e-3)
    known[np.arange(N), np.arange(N)] = SURE
    g, other = GENERA.index(of), GENERA.index("Goniastrea")
    known[g, g], known[g, other] = right * SURE + 1e-3, (1 - right) * SURE + 1e-3
    return np.tile(known, (len(table.observers), 1, 1))


def learn(table: SurveyTable, known: np.ndarray) -> ByErrors:
    """Learn names with a seed of its own."""
    return learn_names(table, known, np.random.default_rng(11), SamplingPlan())


@pytest.fixture(scope="module")
def table() -> SurveyTable:
    """A survey without second readings."""
    made = invent_table(1, agree=True)
    return replace(made, readings=np.zeros_like(made.readings))


@pytest.fixture(scope="module")
def perfect(table: SurveyTable) -> ByErrors:
    """Observers who never err."""
    return learn(table, rows(table))


@pytest.fixture(scope="module")
def erring(table: SurveyTable) -> ByErrors:
    """Observers who call half of all Favites Goniastrea."""
    return learn(table, rows(table, 0.5))


def figures(table: SurveyTable, found: ByErrors) -> tuple[dict[str, float], dict[str, float]]:
    """Said and corrected figures by name."""
    groups = group_labels(table.labels, table.is_coral, {})
    wanted = Wanted(("survey",), Resampling(200))
    (one,) = figures_of(table, groups, found, np.random.default_rng(2), wanted)
    assert one.corrected is not None
    return (
        dict(zip(groups.names, one.uncorrected.value.tolist(), strict=True)),
        dict(zip(groups.names, one.corrected.value.tolist(), strict=True)),
    )


def test_observers_who_never_err_are_not_corrected(table: SurveyTable, perfect: ByErrors) -> None:
    """With errors known to be none, corrected figures are those said."""
    said, true = figures(table, perfect)
    for name, value in said.items():
        assert true[name] == pytest.approx(value, rel=0.02)


def test_known_errors_give_genera_back(table: SurveyTable, erring: ByErrors) -> None:
    """Where half of all Favites were called Goniastrea, about as many again are Favites.

    By hand, over the whole survey: true = said / .5, taken from Goniastrea.
    """
    said, true = figures(table, erring)
    assert true["Favites"] == pytest.approx(2 * said["Favites"], rel=0.15)
    assert true["Goniastrea"] < said["Goniastrea"]
    gained = true["Favites"] - said["Favites"]
    assert said["Goniastrea"] - true["Goniastrea"] == pytest.approx(gained, rel=0.05)
    for name in ("Acropora", "Porites"):
        assert true[name] == pytest.approx(said[name], rel=0.03)


def test_coral_stays_coral(table: SurveyTable, erring: ByErrors) -> None:
    """Genera are shared out among genera: all coral, and what is unnamed, stay as they are."""
    said, true = figures(table, erring)
    for name in ("all stony coral", "stony coral"):
        assert true[name] == pytest.approx(said[name])


def test_draws_are_probabilities(erring: ByErrors) -> None:
    """Each draw's row says what a said name truly is, and adds up to 1."""
    assert erring.given.sum(axis=2) == pytest.approx(1.0)
    assert (erring.given >= 0).all()
    others = [LABELS.index(name) for name in ("sand", "stony coral")]
    assert (erring.given[:, others, others] == 1.0).all()


def test_second_readings_outweigh_what_is_hardly_known() -> None:
    """Errors that nobody practised leave the word to the survey's own second readings."""
    table = invent_table(1, read=1.0)
    flat = np.full((len(table.observers), N, N + 1), 0.2)
    flat[:, np.arange(N), np.arange(N)] = 1.0
    _, true = figures(table, learn(table, flat))
    counts = table.readings.sum(axis=0)[:N, :N]
    given = counts / counts.sum(axis=1, keepdims=True)
    weight = table.weight / table.weight.sum()
    cover = sum(
        w * table.met[table.stratum == h, :N].sum(axis=0) / table.searched[table.stratum == h].sum()
        for h, w in enumerate(weight)
    )
    for g, name in enumerate(GENERA):
        assert true[name] == pytest.approx(float((cover @ given)[g]), rel=0.1)
