"""Facts on species from the open data, as colonies that the model can determine.

Source: Coral Trait Database v1.1.1 (Madin et al. 2016, Scientific Data 3:160017),
rebuilt into ``species_traits.csv`` beside this project.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from corallum.records.colony import Colony, Report, SizeReport, StateReport
from corallum.reference.reference import Reference
from corallum.reference.values import StateWords

DATA = Path(__file__).resolve().parents[2] / "shared" / "data"

# Growth forms of the database in the words of the scheme (any of the states), and habit.
GROWTH: Mapping[str, tuple[tuple[str, ...], str]] = {
    "massive": (("massive",), ""),
    "submassive": (("submassive",), ""),
    "encrusting": (("encrusting",), ""),
    "encrusting_long_uprights": (("encrusting", "columnar", "submassive"), ""),
    "laminar": (("laminar", "foliaceous"), ""),
    "columnar": (("columnar",), ""),
    "digitate": (("digitate",), ""),
    "corymbose": (("branching",), "corymbose"),
    "tables_or_plates": (("tabular",), ""),
    "branching_open": (("branching",), "arborescent"),
    "branching_closed": (("branching",), "caespitose"),
    "hispidose": (("branching",), "hispidose"),
}
# The database files loose corals and single polyps under massive or encrusting.
LOOSE = ("free_living", "solitary")
SINGLE = ("solitary", "free_living", "massive")
VALLEYS = ("meandroid", "flabello_meandroid")
OCEANS = {"pacific": "indo_pacific", "atlantic": "atlantic"}


@dataclass(frozen=True)
class Species:
    """What the database says of one species."""

    name: str
    genus: str
    typical: str
    growth: tuple[str, ...]
    habit: str
    loose: bool
    single: bool
    width_mm: float | None
    region: str | None


def read_species() -> list[Species]:
    """Read the species of the genera with zooxanthellate species; needs the open data."""
    genera = {
        row["genus"] for row in _rows("genus_traits_summary.csv")
        if int(row["n_zoox"]) + int(row["n_both"])
    }  # fmt: skip
    return [_species(row) for row in _rows("species_traits.csv") if row["current_genus"] in genera]


def _rows(name: str) -> list[dict[str, str]]:
    """Read one table of the open data."""
    with (DATA / name).open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def _species(row: Mapping[str, str]) -> Species:
    """Put the facts of one row into the words of the scheme."""
    loose = row["substrate_attachment"] == "unattached" or row["growth_form_mcw"] == "solitary_free"
    single = row["coloniality"] == "solitary"
    growth, habit = GROWTH.get(row["growth_form_typical"], ((), ""))
    if growth and loose and set(growth) & {"massive", "encrusting"}:
        growth = LOOSE
    elif growth and single:
        growth = SINGLE
    wide = row["corallite_width_max_mm"] and not row["corallite_flag"]
    return Species(
        row["accepted_name"],
        row["current_genus"],
        row["growth_form_typical"],
        growth,
        habit,
        loose,
        single,
        float(row["corallite_width_max_mm"]) if wide else None,
        OCEANS.get(row["ocean_basin"]),
    )


def has_valleys(reference: Reference, genus: str) -> bool:
    """Whether the database's width of a genus is that of a valley."""
    words = reference.scheme.words
    share = 0.0
    for form in reference.forms_of(genus):
        value = reference.entries.values[genus, form.id, "corallite_arrangement"].value
        assert isinstance(value, StateWords)
        share += form.weight * sum(words[value.words[s]] for s in VALLEYS if s in value.words)
    return share > 0.5


def as_colony(species: Species, *, valleys: bool) -> Colony:
    """Report the facts of a species: growth form, hold, width and ocean."""
    reports: dict[str, Report] = {"growth_form": StateReport(species.growth)}
    if species.habit:
        reports["branch_habit"] = StateReport((species.habit,))
    if species.loose:
        reports["attachment"] = StateReport(("free",))
    if species.single:
        reports["corallite_arrangement"] = StateReport(("solitary",))
    id_ = "valley_width_mm" if valleys else "calice_diameter_mm"
    assert species.width_mm is not None
    reports[id_] = SizeReport(species.width_mm, 1, "published")
    return Colony(species.name, reports, species.region)
