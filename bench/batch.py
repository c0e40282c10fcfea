"""Many colonies: joint tables against scikit-learn's CategoricalNB on the same reports."""

from __future__ import annotations

import numpy as np
import psutil
from sklearn.naive_bayes import CategoricalNB

from corallum.model.compiled import CompiledReference
from corallum.model.fast import FastKernel
from corallum.model.likelihood import Kernel
from corallum.model.prior import genus_prior
from corallum.model.simulate import simulate
from measure import best_seconds

__all__ = ["bench_batch"]

COLONIES = 200_000
SIZES = (10_000, 100_000, 1_000_000)
SEED = 20261125
# Colonies determined into one buffer, so that memory shows only what the tables take.
PIECE = 100_000


def bench_batch(compiled: CompiledReference) -> list[str]:
    """Return lines of figures."""
    kernel = Kernel(compiled)
    columns = [i for i, c in enumerate(compiled.characters) if not c.is_size and c.seen != "k"]
    prior = genus_prior(compiled, None)
    codes = _codes(kernel, columns, prior)
    bayes = _sklearn_seconds(kernel, columns, codes)
    lines = [
        f"{COLONIES:,} colonies x {len(columns)} characters x {compiled.n_forms} forms, "
        f"scikit-learn CategoricalNB joint log likelihood: {bayes:.2f} s"
    ]
    out = np.empty((COLONIES, compiled.n_forms), np.float32)
    written = best_seconds(lambda: out.fill(1))
    lines.append(f"writing the output alone: {written:.4f} s, {bayes / written:.0f} times as fast")
    log_prior = kernel.log_weight + np.log(prior)[compiled.form_genus]
    posterior = np.empty((COLONIES, len(prior)), np.float32)
    for name, loops, joint_target, genus_target in (
        ("numpy", False, 40, 10),
        ("numba", True, 100, 40),
    ):
        fast = FastKernel(kernel, columns, compiled_loops=loops)
        joint = best_seconds(lambda fast=fast: fast.log_joint(codes, log_prior, out), 30)
        genus = best_seconds(lambda fast=fast: fast.genus_posterior(codes, prior, posterior), 30)
        lines.append(
            f"{name}, joint log likelihood: {bayes / joint:.0f} times as fast "
            f"(wanted {joint_target}), {joint:.3f} s"
        )
        lines.append(
            f"{name}, genus posterior: {bayes / genus:.0f} times as fast "
            f"(wanted {genus_target}), {genus:.3f} s"
        )
        lines.extend(_growth(name, fast, codes, prior))
    return lines


def _codes(kernel: Kernel, columns: list[int], prior: np.ndarray) -> np.ndarray:
    """Simulate reports of every character with states."""
    rng = np.random.default_rng(SEED)
    looks = np.zeros((20_000, len(kernel.compiled.characters)), dtype=np.bool_)
    looks[:, columns] = True
    parts = []
    for _ in range(0, COLONIES, len(looks)):
        drawn = simulate(kernel, prior, looks, rng)
        parts.append(np.stack([drawn.evidence.states[c].codes for c in columns], axis=1))
    return np.concatenate(parts).astype(np.uint8)


def _sklearn_seconds(kernel: Kernel, columns: list[int], codes: np.ndarray) -> float:
    """Time CategoricalNB on a quarter of the colonies, and scale up."""
    compiled = kernel.compiled
    model = CategoricalNB()
    model.classes_ = np.arange(compiled.n_forms)
    model.class_count_ = np.ones(compiled.n_forms)
    model.n_features_in_ = len(columns)
    tables = [
        kernel.tables[c] if kernel.tables[c].ndim == 2 else kernel.tables[c][0] for c in columns
    ]
    model.n_categories_ = np.array([len(table) for table in tables])
    model.feature_log_prob_ = [np.log(np.maximum(table, 1e-300)).T for table in tables]
    model.class_log_prior_ = kernel.log_weight
    some = codes[: COLONIES // 4].astype(np.intp) - 1
    return 4 * best_seconds(lambda: model.predict_joint_log_proba(some), 3)


def _growth(name: str, fast: FastKernel, codes: np.ndarray, prior: np.ndarray) -> list[str]:
    """Show time and memory at three sizes."""
    out = np.empty((PIECE, len(prior)), np.float32)
    lines, first = [], 0.0
    for size in SIZES:
        pieces = [
            (i * PIECE % COLONIES, min(PIECE, size - i * PIECE)) for i in range(-(-size // PIECE))
        ]

        def run(pieces: list[tuple[int, int]] = pieces) -> None:
            for start, count in pieces:
                fast.genus_posterior(codes[start : start + count], prior, out[:count])

        seconds = best_seconds(run, 3)
        rate = seconds / size
        first = first or rate
        memory = psutil.Process().memory_info().rss / 1e6
        lines.append(
            f"{name}, {size:>9,} colonies: {1e6 * rate:.2f} microseconds each, "
            f"{rate / first:.2f} times that of {SIZES[0]:,}; process holds {memory:.0f} MB"
        )
    return lines
