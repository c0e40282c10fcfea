"""Corallum from a notebook: load a reference, determine a data frame, assess, agree, estimate.

A shell beside the command line and the pages, without logic of its own: every function asks
an action, and every result shows itself as text in a terminal, as a table or a drawing in a
notebook, and as a data frame with ``table()``. Nothing is written into a programme.

Examples
--------
>>> from corallum.notebook import load_reference
>>> reference = load_reference()
>>> rows = [{"id": "c1", "growth_form": "massive", "corallite_arrangement": "cerioid"}]
>>> reference.determine(rows).of("c1").record.verdict.status
'open'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from corallum.notebook.answers import Answers, ColonyAnswer
    from corallum.notebook.estimates import Change, Estimate
    from corallum.notebook.listing import Listing
    from corallum.notebook.observers import ObserverErrors
    from corallum.notebook.plot import Plot
    from corallum.notebook.programme import Programme, Survey, open_programme
    from corallum.notebook.readings import Agreement, Consensus, agreement, consensus
    from corallum.notebook.reference import Reference, load_reference
    from corallum.notebook.weak_spots import Assessment, Comparison, Limits

__all__ = [
    "Agreement",
    "Answers",
    "Assessment",
    "Change",
    "ColonyAnswer",
    "Comparison",
    "Consensus",
    "Estimate",
    "Limits",
    "Listing",
    "ObserverErrors",
    "Plot",
    "Programme",
    "Reference",
    "Survey",
    "agreement",
    "consensus",
    "load_reference",
    "open_programme",
]

# Loaded when first asked for: naming a colony needs neither statistics nor a database.
_HOMES = {
    "Agreement": "readings",
    "Answers": "answers",
    "Assessment": "weak_spots",
    "Change": "estimates",
    "ColonyAnswer": "answers",
    "Comparison": "weak_spots",
    "Consensus": "readings",
    "Estimate": "estimates",
    "Limits": "weak_spots",
    "Listing": "listing",
    "ObserverErrors": "observers",
    "Plot": "plot",
    "Programme": "programme",
    "Reference": "reference",
    "Survey": "programme",
    "agreement": "readings",
    "consensus": "readings",
    "load_reference": "reference",
    "open_programme": "programme",
}


def __getattr__(name: str) -> object:
    """Load a public name from its module."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    """List the public names."""
    return sorted(__all__)
