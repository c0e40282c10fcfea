"""The joint tables for many colonies against the general way."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from corallum.model import fast
from corallum.model.fast import FastKernel
from corallum.model.posterior import Posterior, posterior
from corallum.model.prior import genus_prior
from corallum.model.simulate import simulate
from support import compiled, determiner

PRIOR_REGION = "indo_pacific"


@cache
def drawn() -> tuple[tuple[int, ...], np.ndarray, Posterior]:
    """Characters, codes and the posterior of some simulated colonies."""
    kernel = determiner().kernel
    columns = tuple(
        i for i, c in enumerate(compiled().characters) if not c.is_size and c.seen != "k"
    )
    rng = np.random.default_rng(11)
    looks = np.zeros((600, len(compiled().characters)), dtype=np.bool_)
    looks[:, columns] = rng.random((600, len(columns))) < 0.6
    prior = genus_prior(compiled(), PRIOR_REGION)
    found = simulate(kernel, prior, looks, rng)
    codes = [found.evidence.states[c].codes if c in found.evidence.states else np.zeros(600)
             for c in columns]  # fmt: skip
    return columns, np.stack(codes, 1).astype(np.uint8), posterior(kernel, found.evidence, prior)


def log_prior() -> np.ndarray:
    """Log P(form) of the region."""
    kernel = determiner().kernel
    return kernel.log_weight + np.log(genus_prior(compiled(), PRIOR_REGION))[compiled().form_genus]


@pytest.mark.parametrize("loops", [False, True], ids=["numpy", "numba"])
@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_joint_tables_agree_with_the_general_way(dtype: type, loops: bool) -> None:
    """Log joint and P(genus) agree to the figures of the data type."""
    columns, codes, expected = drawn()
    kernel = FastKernel(determiner().kernel, columns, dtype, compiled_loops=loops)
    tolerance = 1e-10 if dtype is np.float64 else 2e-4
    joint = kernel.log_joint(codes, log_prior())
    genus = kernel.genus_posterior(codes, genus_prior(compiled(), PRIOR_REGION))
    np.testing.assert_allclose(joint, expected.log_joint, rtol=0, atol=tolerance)
    np.testing.assert_allclose(genus, expected.genus, rtol=0, atol=tolerance)


@pytest.mark.parametrize("loops", [False, True], ids=["numpy", "numba"])
def test_a_full_table_starts_over(loops: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory stays flat: a table that is full forgets, and the answers stay the same."""
    monkeypatch.setattr(fast, "_MOST_ROWS", 60)
    monkeypatch.setattr(fast, "_CHUNK", 50)
    columns, codes, expected = drawn()
    kernel = FastKernel(determiner().kernel, columns, np.float64, compiled_loops=loops)
    genus = kernel.genus_posterior(codes, genus_prior(compiled(), PRIOR_REGION))
    np.testing.assert_allclose(genus, expected.genus, rtol=0, atol=1e-10)
    assert max(table.count for table in kernel.tables if table.size > fast._SMALL_ROWS) <= 60


def test_products_too_small_to_hold_are_worked_out_in_logs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where single precision underflows, the answer comes from logs."""
    monkeypatch.setattr(fast, "_tiny", lambda _: 1e30)
    columns, codes, expected = drawn()
    kernel = FastKernel(determiner().kernel, columns)
    genus = kernel.genus_posterior(codes, genus_prior(compiled(), PRIOR_REGION))
    np.testing.assert_allclose(genus, expected.genus, rtol=0, atol=2e-4)
