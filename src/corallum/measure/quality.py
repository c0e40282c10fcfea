"""How likely it is that the centres found are the units of the surface.

A logistic regression on what ``detect`` says of them. Its weights were fitted to 480
invented pictures of the independent generator of the tests, 320 with no repeating unit, and
490 rendered colonies, a third of all hard; none of them is one that a figure is judged on. A
candidate counted as right where its spacing was within 5 % of the truth.
"""

from __future__ import annotations

import numpy as np

from corallum.measure.detect import FEATURES, Found

__all__ = ["quality"]

# Weight, and the range within which the feature counts.
_WEIGHTS = {
    "log_n": (0.2699, 2.565, 9.758),
    "tightness": (-0.442, 0.9773, 2.484),
    "spread": (-5.006, -2.784, -0.3997),
    "weakness": (-1.235, -2.857, -0.5765),
    "likeness": (8.158, 0.04183, 0.8834),
    "growth": (-0.1738, -0.006197, 1.944),
    "kept": (-2.282, 0.3453, 1),
    "lost": (-1.449, 0.3692, 1),
    "roundness": (1.356, 0.04964, 0.9333),
    "prominence": (-0.1664, -0.137, 1.444),
    "surroundings": (-5.72, 0.01318, 0.8086),
    "ring": (-0.5033, -0.4676, 3.801),
    "agreement": (0.9293, -0.8815, 0.9479),
}
_OFFSET = -10.1577
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
