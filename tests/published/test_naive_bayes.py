"""The batch posterior against scikit-learn's CategoricalNB on the same tables."""

from __future__ import annotations

import numpy as np
from sklearn.naive_bayes import CategoricalNB

from corallum.model.likelihood import Kernel
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.model.simulate import simulate
from support import compiled


def test_without_misreading_it_is_a_naive_bayes() -> None:
    """With groups never misread and one condition, P(form) is CategoricalNB's to 1e-10."""
    kernel = Kernel(compiled(), misread=False)
    columns = [
        i for i, c in enumerate(compiled().characters)
        if not c.is_size and not compiled().groups[c.group].conditions_act and c.seen != "k"
    ]  # fmt: skip
    looks = np.zeros((500, len(compiled().characters)), dtype=np.bool_)
    looks[:, columns] = True
    prior = genus_prior(compiled(), "indo_pacific")
    drawn = simulate(kernel, prior, looks, np.random.default_rng(3))
    codes = np.stack([drawn.evidence.states[c].codes for c in columns], axis=1) - 1
    expected = _categorical_nb(kernel, columns, prior).predict_proba(codes)
    found = posterior(kernel, drawn.evidence, prior)
    np.testing.assert_allclose(found.form, expected, rtol=0, atol=1e-10)
    np.testing.assert_allclose(found.genus, compiled().genus_sum(expected), rtol=0, atol=1e-10)


def _categorical_nb(kernel: Kernel, columns: list[int], prior: np.ndarray) -> CategoricalNB:
    """Return a CategoricalNB with the kernel's tables instead of fitted ones."""
    model = CategoricalNB()
    n = compiled().n_forms
    model.classes_ = np.arange(n)
    model.class_count_ = np.ones(n)
    model.n_features_in_ = len(columns)
    tables = [np.maximum(kernel.tables[c], 1e-300) for c in columns]
    model.n_categories_ = np.array([len(table) for table in tables])
    model.feature_log_prob_ = [np.log(table.T) for table in tables]
    model.class_log_prior_ = kernel.log_weight + np.log(prior)[compiled().form_genus]
    return model
