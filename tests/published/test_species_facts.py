"""The reference against the Coral Trait Database v1.1.1 (Madin et al. 2016).

Source of every fact: Madin et al. 2016, Scientific Data 3:160017, as rebuilt in
``species_traits.csv`` beside this project. Bounds are those set for the project.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from sklearn.naive_bayes import CategoricalNB, GaussianNB

from corallum.actions.references import Library
from corallum.model.answer import Determiner
from corallum.model.compile import compile_reference
from corallum.model.errors import Observer
from corallum.reference.reference import parse_reference
from corallum.reference.values import SizeRange, StateWords
from corallum.store.reference_folder import shipped_reference
from rebuilt import rebuilt_files
from species_facts import DATA, LOOSE, Species, as_colony, has_valleys, read_species

pytestmark = pytest.mark.skipif(
    not DATA.is_dir(), reason="the open data are not beside this checkout (../shared/data)"
)


@cache
def species() -> tuple[Species, ...]:
    """Species of the genera with zooxanthellate species."""
    return tuple(read_species())


@cache
def library() -> Library:
    """The shipped reference, read once."""
    return Library()


@cache
def valleys() -> dict[str, bool]:
    """Whether each genus is measured by its valleys."""
    reference = library().reference
    return {genus: has_valleys(reference, genus) for genus in {s.genus for s in species()}}


@cache
def usable() -> tuple[Species, ...]:
    """Species with growth form, width and ocean."""
    return tuple(s for s in species() if s.growth and s.width_mm and s.region)


@dataclass(frozen=True)
class Score:
    """How a set of species was determined."""

    log_loss: float
    coverage: float
    set_size: float

    @classmethod
    def of(cls, genus: np.ndarray, truth: np.ndarray) -> Score:
        """Score P(genus), one row a species, by 90 % sets."""
        rows = np.arange(len(truth))
        ordered = -np.sort(-genus, axis=1)
        size = (np.cumsum(ordered, axis=1) < 0.9 - 1e-12).sum(axis=1) + 1
        holds = genus[rows, truth] >= ordered[rows, size - 1]
        loss = -np.log(np.maximum(genus[rows, truth], 1e-12))
        return cls(float(loss.mean()), float(holds.mean()), float(size.mean()))


def test_widths_lie_in_the_ranges_of_some_form() -> None:
    """For 95 % of species the width lies in a form's range widened by a quarter."""
    measured = [s for s in species() if s.width_mm]
    misses = [s for s in measured if not _width_fits(s)]
    share = 1 - len(misses) / len(measured)
    print(
        f"\nwidths: {share:.3f} of {len(measured)}; misses:", [(s.name, s.width_mm) for s in misses]
    )
    assert share >= 0.95


def _width_fits(one: Species) -> bool:
    """Whether a width lies in some form's range widened by a quarter either way."""
    reference = library().reference
    for form in reference.forms_of(one.genus):
        for id_ in ("calice_diameter_mm", "valley_width_mm"):
            cell = reference.entries.values.get((one.genus, form.id, id_))
            if cell is not None and isinstance(cell.value, SizeRange):
                low, high = cell.value.low / 1.25, cell.value.high * 1.25
                if low <= (one.width_mm or 0) <= high:
                    return True
    return False


def test_typical_growth_forms_are_at_least_sometimes_shown() -> None:
    """For 95 % of species the typical growth form is at least "sometimes" in some form."""
    shown = [s for s in species() if s.growth]
    misses = [s for s in shown if not _growth_fits(s)]
    share = 1 - len(misses) / len(shown)
    print(f"\ngrowth: {share:.3f} of {len(shown)}; misses:", [(s.name, s.typical) for s in misses])
    assert share >= 0.95


def _growth_fits(one: Species) -> bool:
    """Whether a growth form is at least "sometimes" in some form."""
    reference = library().reference
    words = reference.scheme.words
    for form in reference.forms_of(one.genus):
        cell = reference.entries.values[one.genus, form.id, "growth_form"].value
        assert isinstance(cell, StateWords)
        if any(words[cell.words.get(s, "never")] >= words["sometimes"] for s in one.growth):
            return True
    return False


def test_species_are_determined_from_their_facts() -> None:
    """In sample: coverage at least .95, log loss at most 1.9, mean set at most 13."""
    compiled = library().compiled
    determiner = Determiner(compiled, Observer.EXACT)
    colonies = [as_colony(s, valleys=valleys()[s.genus]) for s in usable()]
    genus = determiner.posterior(colonies, "species").genus
    truth = np.array([compiled.genera.index(s.genus) for s in usable()])
    score = Score.of(genus, truth)
    bayes = _naive_bayes(usable(), usable())
    print(f"\nin sample, {len(truth)} species: model {score}; naive Bayes {bayes}")
    assert score.coverage >= 0.95
    assert score.log_loss <= 1.9
    assert score.set_size <= 13


def test_species_are_determined_from_other_species() -> None:
    """In ten folds: no worse than a naive Bayes, sets at most .5 larger."""
    order = np.random.default_rng(20261125).permutation(len(usable()))
    folds = np.array_split(order, 10)
    ours, theirs = [], []
    for fold in folds:
        inside = {usable()[i].name for i in fold}
        train = [s for s in species() if s.name not in inside]
        test = [usable()[i] for i in fold]
        ours.append(_rebuilt(train, test))
        theirs.append(
            _naive_bayes([s for s in train if s.growth and s.width_mm and s.region], test)
        )
    model, bayes = _mean(ours, folds), _mean(theirs, folds)
    print(f"\nten folds: model {model}; naive Bayes {bayes}")
    assert model.log_loss <= bayes.log_loss
    assert model.coverage >= bayes.coverage
    assert model.set_size <= bayes.set_size + 0.5


def _mean(scores: Sequence[Score], folds: Sequence[np.ndarray]) -> Score:
    """Average scores over folds of unequal size."""
    weights = [len(fold) for fold in folds]
    table = [(s.log_loss, s.coverage, s.set_size) for s in scores]
    return Score(*np.average(table, axis=0, weights=weights).tolist())


def _rebuilt(train: Sequence[Species], test: Sequence[Species]) -> Score:
    """Score a reference rebuilt from ``train`` on ``test``."""
    families = {g.name: g.family for g in library().reference.entries.genera.values()}
    genera = {genus: families[genus] for genus in sorted({s.genus for s in species()})}
    files = rebuilt_files(shipped_reference(), train, genera, valleys())
    compiled = compile_reference(parse_reference(files))
    determiner = Determiner(compiled, Observer.EXACT)
    colonies = [as_colony(s, valleys=valleys()[s.genus]) for s in test]
    truth = np.array([compiled.genera.index(s.genus) for s in test])
    return Score.of(determiner.posterior(colonies, "species").genus, truth)


# Smoothing of the naive Bayes: the lowest log loss among settings (alpha .1 to 1, width
# smoothing .03 to .15) whose sets hold the truth for at least .85 in these folds.
_ALPHA, _WIDTH_SMOOTHING, _FLOOR = 0.5, 0.08, 1e-4


def _features(many: Sequence[Species]) -> np.ndarray:
    """Growth form, hold, kind of width and ocean, as codes."""
    growths = sorted({(s.growth, s.habit) for s in species()})
    return np.array([
        [growths.index((s.growth, s.habit)), s.growth == LOOSE, valleys()[s.genus],
         s.region == "atlantic"]
        for s in many
    ], dtype=int)  # fmt: skip


def _log_widths(many: Sequence[Species]) -> np.ndarray:
    """Log of widths, one column."""
    return np.log([[s.width_mm or 1.0] for s in many])


def _naive_bayes(train: Sequence[Species], test: Sequence[Species]) -> Score:
    """Score a naive Bayes by species counts: categories, and a normal log width."""
    genera = sorted({s.genus for s in species()})
    labels = [s.genus for s in train]
    categories = [len({(s.growth, s.habit) for s in species()}), 2, 2, 2]
    looks = CategoricalNB(alpha=_ALPHA, min_categories=categories).fit(_features(train), labels)
    sizes = GaussianNB(var_smoothing=_WIDTH_SMOOTHING).fit(_log_widths(train), labels)
    joint = looks.predict_joint_log_proba(_features(test))
    joint += sizes.predict_joint_log_proba(_log_widths(test)) - np.log(sizes.class_prior_)
    known = np.exp(joint - joint.max(axis=1, keepdims=True))
    known /= known.sum(axis=1, keepdims=True)
    genus = np.full((len(test), len(genera)), _FLOOR)
    genus[:, [genera.index(name) for name in looks.classes_]] = np.maximum(known, _FLOOR)
    genus /= genus.sum(axis=1, keepdims=True)
    return Score.of(genus, np.array([genera.index(s.genus) for s in test]))
