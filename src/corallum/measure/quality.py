"""How likely it is that the centres found are the units of the surface.

A logistic regression on what ``detect`` says of them. Its weights were fitted to 320
invented pictures of the independent generator, half of them with no repeating unit, and
72 rendered colonies, none of which any figure is judged on. A candidate counted as right
where its spacing was within 5 % of the truth.
"""

from __future__ import annotations

import numpy as np

from corallum.measure.detect import FEATURES, Found

__all__ = ["quality"]

# Weight, and the range within which the feature counts.
_WEIGHTS = {
    "log_n": (0.2523, 2.565, 9.743),
    "tightness": (-0.3398, 0.9811, 2.488),
    "spread": (-5.185, -2.758, -0.391),
    "weakness": (-1.2, -2.85, -0.5708),
    "likeness": (8.32, 0.04187, 0.8804),
    "growth": (-0.182, -0.006706, 1.955),
    "kept": (-2.404, 0.3425, 1),
    "lost": (-1.319, 0.3611, 1),
    "roundness": (1.241, 0.0508, 0.9324),
    "prominence": (-0.3177, -0.1487, 1.448),
    "surroundings": (-5.836, 0.01345, 0.8037),
    "ring": (-0.5038, -0.4508, 3.801),
    "agreement": (0.9213, -0.8812, 0.9348),
}
_OFFSET = -10.2688
_TABLE = np.array([_WEIGHTS[name] for name in FEATURES])


def quality(found: Found) -> float:
    """Return the probability that the centres are the units of the surface.

    Parameters
    ----------
    found : Found
        Centres with their features.

    Returns
    -------
    float
        0 to 1.
    """
    features = np.clip(found.features, _TABLE[:, 1], _TABLE[:, 2])
    return float(1 / (1 + np.exp(-(features @ _TABLE[:, 0] + _OFFSET))))
