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
    "log_n": (0.2637, 2.565, 9.983),
    "tightness": (-0.2365, 0.958, 2.412),
    "spread": (-6.762, -2.777, -0.4134),
    "weakness": (-1.87, -2.78, -0.5324),
    "likeness": (4.023, 0.04112, 0.8865),
    "growth": (-0.201, -0.005669, 1.816),
    "kept": (-2.223, 0.3732, 1),
    "lost": (-1.625, 0.4, 1),
    "roundness": (2.267, 0.04375, 0.9347),
    "prominence": (-0.84, -0.1306, 1.363),
    "surroundings": (-2.934, 0.01189, 0.8102),
    "ring": (-0.5009, -0.6304, 3.91),
    "agreement": (0.9909, -0.8502, 0.9683),
}
_OFFSET = -12.9163
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
