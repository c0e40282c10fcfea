"""Everything the model says of one colony, in one call."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from corallum.model.compiled import CompiledReference, Floats
from corallum.model.errors import Errors, Observer
from corallum.model.evidence import batch, read_colony
from corallum.model.fragile import find_fragile
from corallum.model.likelihood import Kernel
from corallum.model.limits import ExactReports, find_limits
from corallum.model.next_looks import next_looks
from corallum.model.posterior import Posterior, posterior
from corallum.model.prior import genus_prior
from corallum.model.verdict import decide, ranked
from corallum.model.why import explain, leading_pair
from corallum.records.answer import Answer, Candidate
from corallum.records.colony import Colony

__all__ = ["Determiner"]

# Genera less probable than this are left out of the candidates.
_LEAST_PROBABILITY = 1e-6


class Determiner:
    """Determines colonies against one reference, tables kept between them.

    Parameters
    ----------
    compiled : CompiledReference
        The reference.
    observer : Observer or OwnErrors
        Whose errors to assume.
    """

    def __init__(self, compiled: CompiledReference, observer: Errors = Observer.UNKNOWN) -> None:
        self.compiled = compiled
        self.kernel = Kernel(compiled, observer)

    @cached_property
    def exact(self) -> ExactReports:
        """Tables of error-free reports."""
        return ExactReports(self.compiled)

    def determine(self, colony: Colony) -> Answer:
        """Answer for one colony.

        Raises
        ------
        InputError
            Where the colony holds something that the scheme does not.
        """
        evidence = read_colony(self.compiled, colony)
        side = batch(self.compiled, [evidence])
        prior = genus_prior(self.compiled, colony.region)
        found = posterior(self.kernel, side, prior)
        genus = found.genus[0]
        looks = next_looks(self.kernel, evidence, side, found)
        limits = find_limits(self.exact, evidence, side, found)
        pair = leading_pair(self.compiled, genus)
        verdict = decide(self.compiled, genus, limits, looks)
        return Answer(
            colony.id,
            verdict,
            self._candidates(genus),
            looks,
            find_fragile(self.kernel, evidence, genus, prior),
            explain(self.compiled, evidence, found, prior, pair),
            limits,
            self._cautions(genus, verdict.needs),
            self.compiled.hash,
        )

    def posterior(self, colonies: list[Colony], kind: str = "mixed") -> Posterior:
        """Return the posterior of several colonies without the rest of the answer."""
        evidence = [read_colony(self.compiled, colony) for colony in colonies]
        priors = np.array([genus_prior(self.compiled, colony.region, kind) for colony in colonies])
        return posterior(self.kernel, batch(self.compiled, evidence), priors)

    def _candidates(self, genus: Floats) -> tuple[Candidate, ...]:
        """List the genera that are possible at all, most probable first."""
        found = []
        for i in ranked(genus).tolist():
            if genus[i] < _LEAST_PROBABILITY:
                break
            known = i < len(self.compiled.genera)
            name = self.compiled.genera[i] if known else None
            family = self.compiled.families[i] if known else None
            found.append(Candidate(name, family, float(genus[i])))
        return tuple(found)

    def _cautions(self, genus: Floats, needs: str) -> tuple[str, ...]:
        """Texts of the cautions of every genus that is at all probable, and of what is needed."""
        texts = self.compiled.caution_texts
        wanted = ["look_only"]
        for i in ranked(genus[: len(self.compiled.genera)]).tolist():
            if genus[i] >= _CAUTION_PROBABILITY:
                wanted.extend(self.compiled.cautions[i])
        if needs == "voucher":
            wanted.append("voucher")
        return tuple(texts[id_] for id_ in dict.fromkeys(wanted) if id_ in texts)


# A caution shows as soon as its genus is this probable.
_CAUTION_PROBABILITY = 0.02
