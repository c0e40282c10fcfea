"""From evidence to the probability of every form and genus, exactly.

Likelihoods are multiplied group by group and scaled row by row, so that nothing
underflows; only the final product is taken to logs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.evidence import Evidence
from corallum.model.likelihood import GroupLikelihood, Kernel

__all__ = ["Posterior", "log_likelihood", "posterior"]


@dataclass(frozen=True, slots=True)
class Posterior:
    """P(form) and P(genus) of N colonies.

    Attributes
    ----------
    log_joint : ndarray, shape (N, NF)
        Log of prior times likelihood.
    form : ndarray, shape (N, NF)
        P(form | evidence); the last is "something else".
    genus : ndarray, shape (N, G + 1)
        P(genus | evidence); the last is "something else".
    groups : tuple of GroupLikelihood
        Likelihood of each group that was reported.
    """

    log_joint: Floats
    form: Floats
    genus: Floats
    groups: tuple[GroupLikelihood, ...]


def log_likelihood(groups: Sequence[GroupLikelihood], n: int, n_forms: int) -> Floats:
    """Add up the groups: log P(evidence | form), shape (N, NF)."""
    total = np.ones((n, n_forms))
    scale = np.zeros((n, 1))
    for group in groups:
        total *= group.likelihood
        top = total.max(axis=1, keepdims=True)
        total /= top
        scale += np.log(top)
    with np.errstate(divide="ignore"):
        logs: Floats = np.log(total) + scale
    return logs


def posterior(kernel: Kernel, evidence: Evidence, prior: Floats) -> Posterior:
    """Return the posterior of N colonies.

    Parameters
    ----------
    kernel : Kernel
        Tables for the observer.
    evidence : Evidence
        Reports of N colonies.
    prior : ndarray, shape (G + 1,) or (N, G + 1)
        P(genus) before anything was seen, "something else" last.

    Returns
    -------
    Posterior
        Exact up to rounding.
    """
    compiled = kernel.compiled
    groups = tuple(kernel.groups(evidence))
    log_joint = log_likelihood(groups, evidence.size, compiled.n_forms)
    log_joint += kernel.log_weight + np.log(prior)[..., compiled.form_genus]
    return _normalised(compiled, log_joint, groups)


def _normalised(
    compiled: CompiledReference, log_joint: Floats, groups: tuple[GroupLikelihood, ...]
) -> Posterior:
    """Turn log joints into probabilities."""
    form = np.exp(log_joint - log_joint.max(axis=1, keepdims=True))
    form /= form.sum(axis=1, keepdims=True)
    return Posterior(log_joint, form, compiled.genus_sum(form), groups)
