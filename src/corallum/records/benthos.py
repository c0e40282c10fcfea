"""What a line or a point may meet besides a genus: other cover, and codes for life forms.

"Stony coral" that could not be named is kept apart from what is no coral, and both from
what could not be read at all.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = [
    "GENUS",
    "LIFE_FORMS",
    "OTHER",
    "OTHER_COVER",
    "STONY_CORAL",
    "UNIDENTIFIED",
    "UNREADABLE",
    "LifeForm",
    "is_doubted",
    "is_living_coral",
]

# Kinds of what was said.
GENUS, UNIDENTIFIED, OTHER, UNREADABLE = "genus", "unidentified", "other", "unreadable"

STONY_CORAL = "stony coral"
# Words of the trade (common practice, no source).
OTHER_COVER = (
    "soft coral", "sponge", "zoanthid", "other animals", "coralline algae", "turf algae",
    "macroalgae", "seagrass", "recently dead coral", "old dead coral", "rock", "rubble", "sand",
    "silt", "not coral",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LifeForm:
    """A code of the published survey manual, and what it says here."""

    code: str
    label: str
    kind: str
    growth_form: str = ""


def _acropora(code: str, form: str) -> LifeForm:
    return LifeForm(code, "Acropora", GENUS, form)


def _coral(code: str, form: str) -> LifeForm:
    return LifeForm(code, STONY_CORAL, UNIDENTIFIED, form)


def _cover(code: str, label: str) -> LifeForm:
    return LifeForm(code, label, OTHER)


# Life-form codes of English, Wilkinson & Baker 1997, Survey Manual for Tropical Marine
# Resources, 2nd ed., chapter 2 (from memory: compare with the manual before use).
LIFE_FORMS = {
    form.code: form
    for form in (
        _acropora("ACB", "branching"), _acropora("ACE", "encrusting"),
        _acropora("ACS", "submassive"), _acropora("ACD", "digitate"),
        _acropora("ACT", "tabular"),
        _coral("CB", "branching"), _coral("CE", "encrusting"), _coral("CF", "foliaceous"),
        _coral("CM", "massive"), _coral("CS", "submassive"), _coral("CMR", "free_living"),
        LifeForm("CME", "Millepora", GENUS), LifeForm("CTU", "Tubipora", GENUS),
        LifeForm("CHL", "Heliopora", GENUS),
        _cover("DC", "recently dead coral"), _cover("DCA", "old dead coral"),
        _cover("SC", "soft coral"), _cover("SP", "sponge"), _cover("ZO", "zoanthid"),
        _cover("OT", "other animals"), _cover("AA", "turf algae"), _cover("TA", "turf algae"),
        _cover("CA", "coralline algae"), _cover("HA", "macroalgae"), _cover("MA", "macroalgae"),
        _cover("S", "sand"), _cover("R", "rubble"), _cover("SI", "silt"), _cover("RCK", "rock"),
        LifeForm("WA", "unreadable", UNREADABLE),
    )
}  # fmt: skip


# A mark before a genus, a question mark right after it, or cf. and aff. with nothing after
# them: before an epithet they doubt the species alone (open nomenclature, Sigovini et al. 2016).
_DOUBT = re.compile(
    r"\s*(\?|(cf|aff)(\.|\s)|[^\s?]+\s*\?|[^\s?]+\s+(cf|aff)\.?\s*$)", re.IGNORECASE
)


def is_doubted(said: str) -> bool:
    """Whether a name as it was written doubts the genus itself, not its species."""
    return _DOUBT.match(said) is not None


def is_living_coral(kind: str) -> bool:
    """Whether it counts as living stony coral, named or not."""
    return kind in (GENUS, UNIDENTIFIED)
