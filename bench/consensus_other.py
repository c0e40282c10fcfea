"""Run crowd-kit's Dawid-Skene on labels of a file: started by ``consensus.py``, by its Python.

Takes a file of labels, a file to write to and numbers of rounds; writes the seconds of each
and the posterior of the last.
"""

from __future__ import annotations

import sys
from time import perf_counter

import numpy as np
import pandas as pd
from crowdkit.aggregation import DawidSkene


def main() -> None:
    """Run it."""
    source, target, *rounds = sys.argv[1:]
    with np.load(source) as held:
        answers = pd.DataFrame(
            {"task": held["item"], "worker": held["observer"], "label": held["label"]}
        )
    seconds, model = [], None
    for n in rounds:
        model = DawidSkene(n_iter=int(n), tol=-1.0)
        start = perf_counter()
        model.fit(answers)
        seconds.append(perf_counter() - start)
    shares = model.probas_.sort_index().sort_index(axis=1)
    np.savez(target, seconds=seconds, posterior=shares.to_numpy(), prevalence=model.priors_)


if __name__ == "__main__":
    main()
