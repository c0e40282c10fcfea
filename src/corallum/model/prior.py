"""Regional shares of genera before anything is seen.

A mixture of species richness and survey shares, with a floor for what is on the
region's list and a lower one for what is not. Never zero.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.reference.genera import REGIONS, Entries
from corallum.reference.scheme import Settings

__all__ = ["ANYWHERE", "PRIORS", "compile_priors", "genus_prior"]

ANYWHERE = "anywhere"
# What the shares are taken from: species richness, surveys, or both.
PRIORS = ("mixed", "species", "survey")


def compile_priors(entries: Entries, settings: Settings) -> dict[str, dict[str, Floats]]:
    """Compile P(genus) by region and by kind of share, each of shape (G + 1,).

    The last element is "something else". ``anywhere`` is the mean of the
    Indo-Pacific and the Atlantic.
    """
    priors = {
        region: {kind: _region_prior(entries, settings, region, kind) for kind in PRIORS}
        for region in REGIONS
    }
    priors[ANYWHERE] = {
        kind: (priors["indo_pacific"][kind] + priors["atlantic"][kind]) / 2 for kind in PRIORS
    }
    return priors


def _region_prior(entries: Entries, settings: Settings, region: str, kind: str) -> Floats:
    """P(genus) in one region; a region without a survey falls back on its species."""
    names = list(entries.genera)
    species, survey = np.zeros(len(names)), np.zeros(len(names))
    for share in entries.shares:
        if share.region == region:
            species[names.index(share.genus)] = share.species_share
            survey[names.index(share.genus)] = share.survey_share or 0.0
    mixing = {"mixed": settings.prior_survey_share, "species": 0.0, "survey": 1.0}[kind]
    mixing = mixing if survey.sum() else 0.0
    species = species / species.sum() if species.sum() else np.full(len(names), 1 / len(names))
    survey = survey / survey.sum() if survey.sum() else survey
    shares = (1 - mixing) * species + mixing * survey
    listed = np.array([region in genus.regions for genus in entries.genera.values()])
    shares = np.where(listed, np.maximum(shares, settings.prior_floor), settings.prior_off_list)
    return np.append(shares / shares.sum() * (1 - settings.something_else), settings.something_else)


def genus_prior(compiled: CompiledReference, region: str | None, kind: str = "mixed") -> Floats:
    """Return P(genus) for a region (None: anywhere), shape (G + 1,)."""
    priors: Mapping[str, Mapping[str, Floats]] = compiled.priors
    return priors[region or ANYWHERE][kind]
