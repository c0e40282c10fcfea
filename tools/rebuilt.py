"""A reference rebuilt from some species only, to determine the others by.

Each genus gets a form for each growth form that its species show and one that says
nothing, weighted by species; widths are pooled by genus and shrunk to the family
and to all. Nothing of the written values is used.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from species_facts import Species

__all__ = ["rebuilt_files"]

# A form that says nothing counts as this many species.
_OPEN_SPECIES = 0.6
# Widths: prior species for the mean of a genus and for its spread.
_MEAN_SPECIES = 0.7
_SPREAD_SPECIES = 4.0


def rebuilt_files(
    scheme: Mapping[str, str],
    species: Sequence[Species],
    genera: Mapping[str, str],
    valleys: Mapping[str, bool],
) -> dict[str, str]:
    """Write the tables of a reference that knows only ``species``.

    Parameters
    ----------
    scheme : mapping of str to str
        Texts of the shipped tables, of which only the scheme is kept.
    species : sequence of Species
        Those that may be learned from.
    genera : mapping of str to str
        Family by genus, all that may be named.
    valleys : mapping of str to bool
        Whether the width of a genus is that of a valley.
    """
    files = {
        name: text for name, text in scheme.items() if "/" not in name and name != "priors.csv"
    }
    own: dict[str, list[Species]] = defaultdict(list)
    for one in species:
        own[one.genus].append(one)
    widths = _widths(species, genera)
    tables: dict[str, list[str]] = {
        "genera": ["genus,family,order,authority,aphia_id,regions,description,cautions,source"],
        "forms": ["genus,form,weight,description,source"],
        "values": ["genus,form,character,value,source"],
        "priors": ["region,genus,species,species_share,survey_share,source"],
        "lookalikes": ["genus,other,characters,note,source"],
        "names": ["older_name,genus,which,source"],
    }
    for genus, family in genera.items():
        tables["genera"].append(f"{genus},{family},o,a,,indo_pacific|atlantic,d,,madin2016")
        _add_forms(tables, genus, own[genus])
        id_ = "valley_width_mm" if valleys[genus] else "calice_diameter_mm"
        shape = "meandroid" if valleys[genus] else "plocoid"
        if any(one.single for one in own[genus]):
            shape = "solitary"
        tables["values"].append(f"{genus},*,corallite_arrangement,always {shape},madin2016")
        if genus in widths:
            tables["values"].append(f"{genus},*,{id_},{widths[genus]},madin2016")
    _add_priors(tables["priors"], species, genera)
    return files | {f"{name}.csv": "\n".join(rows) + "\n" for name, rows in tables.items()}


def _add_forms(tables: dict[str, list[str]], genus: str, species: Sequence[Species]) -> None:
    """Add a form for each growth form and habit shown, and one that says nothing."""
    shown = Counter((one.growth, one.habit, one.loose) for one in species if one.growth)
    total = sum(shown.values()) + _OPEN_SPECIES
    tables["forms"].append(f"{genus},open,{_OPEN_SPECIES / total:.6f},d,madin2016")
    for number, ((growth, habit, loose), count) in enumerate(sorted(shown.items())):
        form = f"look_{number}"
        tables["forms"].append(f"{genus},{form},{count / total:.6f},d,madin2016")
        word = {1: "always", 2: "often", 3: "often"}[len(growth)]
        cell = "; ".join(f"{word} {state}" for state in growth)
        tables["values"].append(f"{genus},{form},growth_form,{cell},madin2016")
        held = "free" if loose else "attached"
        tables["values"].append(f"{genus},{form},attachment,always {held},madin2016")
        if habit:
            tables["values"].append(f"{genus},{form},branch_habit,always {habit},madin2016")


def _widths(species: Sequence[Species], genera: Mapping[str, str]) -> dict[str, str]:
    """Range of widths of each genus that has one, shrunk to its family and to all."""
    logs = [(one.genus, math.log(one.width_mm)) for one in species if one.width_mm]
    every = np.array([log for _, log in logs])
    by_genus: dict[str, list[float]] = defaultdict(list)
    by_family: dict[str, list[float]] = defaultdict(list)
    for genus, log in logs:
        by_genus[genus].append(log)
        by_family[genera[genus]].append(log)
    within = np.mean([np.var(v) for v in by_genus.values() if len(v) > 2])
    ranges = {}
    for genus in genera:
        kin = by_family[genera[genus]]
        prior = (sum(kin) + 2 * every.mean()) / (len(kin) + 2)
        own = by_genus[genus]
        if not own:
            mean, var = prior, every.var()
        else:
            mean = (sum(own) + _MEAN_SPECIES * prior) / (len(own) + _MEAN_SPECIES)
            spread = sum((log - mean) ** 2 for log in own)
            var = (spread + _SPREAD_SPECIES * within) / (len(own) + _SPREAD_SPECIES)
            var *= 1 + 1 / (len(own) + _MEAN_SPECIES)
        reach = 1.96 * math.sqrt(var)
        low, high = max(math.exp(mean - reach), 0.06), min(math.exp(mean + reach), 199)
        ranges[genus] = f"{low:.4f}-{high:.4f}"
    return ranges


def _add_priors(rows: list[str], species: Sequence[Species], genera: Mapping[str, str]) -> None:
    """Share of species by ocean, one half species for a genus not met there."""
    for region in ("indo_pacific", "atlantic"):
        counts = Counter(one.genus for one in species if one.region == region)
        met = {one.genus for one in species}
        share = {g: counts[g] + (0.05 if g in met else 0.5) for g in genera}
        total = sum(share.values())
        rows.extend(
            f"{region},{genus},{counts[genus]},{share[genus] / total:.6f},,madin2016"
            for genus in genera
        )
