"""The constants of the model as data, for its other implementation on the phone page.

The tables are in the compiled reference; what stands here are the numbers that the
model's own code holds, read from where they stand, so that none is written twice.
"""

from __future__ import annotations

import numpy as np

from corallum.model.answer import _CAUTION_PROBABILITY, _LEAST_PROBABILITY
from corallum.model.errors import Observer
from corallum.model.fragile import _SIZE_FACTORS
from corallum.model.limits import _FIRST_DIMENSION, _GRID, DRAWS
from corallum.model.limits import _NEGLIGIBLE as _LIMITS_NEGLIGIBLE
from corallum.model.next_looks import _NEGLIGIBLE as _LOOKS_NEGLIGIBLE
from corallum.model.next_looks import _RANGE_SDS, ASSUMED_METHOD, ASSUMED_READINGS
from corallum.model.prior import ANYWHERE
from corallum.model.sequence import _CENTRE, _FAR, _MIDDLE
from corallum.model.verdict import _TIE_DECIMALS, _WORTH_A_LOOK_BITS
from corallum.reference.genera import REGIONS
from corallum.reference.scheme import NOT_APPLICABLE, NOT_LOOKED_AT

__all__ = ["kernel_rules"]

_NODES = 64


def kernel_rules() -> dict[str, object]:
    """Return the constants under the names that the page's kernel reads.

    Returns
    -------
    dict
        Plain numbers, texts and lists; the nodes are those of Gauss and Legendre.
    """
    points, weights = np.polynomial.legendre.leggauss(_NODES)
    return {
        "regions": list(REGIONS),
        "anywhere": ANYWHERE,
        "not_applicable": NOT_APPLICABLE,
        "not_looked_at": NOT_LOOKED_AT,
        "observers": {one.name.lower(): list(one.value) for one in Observer},
        "assumed": {"method": ASSUMED_METHOD, "readings": ASSUMED_READINGS},
        "gauss": {"points": points.tolist(), "weights": weights.tolist()},
        "looks": {"negligible": _LOOKS_NEGLIGIBLE, "range_sds": _RANGE_SDS},
        "limits": {
            "draws": DRAWS,
            "first_dimension": _FIRST_DIMENSION,
            "negligible": _LIMITS_NEGLIGIBLE,
            "grid": _GRID,
        },
        "normal_quantile": {
            "centre": [list(part) for part in _CENTRE],
            "middle": [list(part) for part in _MIDDLE],
            "far": [list(part) for part in _FAR],
        },
        "tie_decimals": _TIE_DECIMALS,
        "size_factors": list(_SIZE_FACTORS),
        "worth_a_look_bits": _WORTH_A_LOOK_BITS,
        "least_probability": _LEAST_PROBABILITY,
        "caution_probability": _CAUTION_PROBABILITY,
    }
