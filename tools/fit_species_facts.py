"""Bring growth forms, widths and form weights of the tables nearer to the species data.

One pass of expectation and maximisation: each species of the database is shared
among the forms of its genus by the model, then each form's growth-form words and
width range, and the genus's form weights, move from what was written towards what
the species say. Rewrites ``forms/`` and ``values/``; run from the root of a
checkout that has the data beside it::

    python tools/fit_species_facts.py
"""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from corallum.actions.references import Library
from corallum.model.answer import Determiner
from corallum.model.errors import Observer
from corallum.reference.reference import Reference
from corallum.reference.values import SizeRange, StateWords
from species_facts import Species, as_colony, has_valleys, read_species

HERE = Path(__file__).resolve().parent.parent / "src/corallum/data/reference"
# What was written counts as this many species.
PRIOR_SPECIES = 3.0
WEIGHT_PRIOR_SPECIES = 6.0
SIZES = ("calice_diameter_mm", "valley_width_mm")

Key = tuple[str, str, str]


def share_out(reference: Reference, library: Library) -> list[tuple[Species, np.ndarray]]:
    """Share each species among the forms of its genus, by index of form."""
    compiled = library.compiled
    species = [s for s in read_species() if s.growth and s.width_mm]
    valleys = {s.genus: has_valleys(reference, s.genus) for s in species}
    determiner = Determiner(compiled, Observer.TRAINED)
    found = determiner.posterior([as_colony(s, valleys=valleys[s.genus]) for s in species])
    shares = []
    for s, log in zip(species, found.log_joint, strict=True):
        own = compiled.form_genus == compiled.genera.index(s.genus)
        share = np.where(own, np.exp(log - log[own].max()), 0.0)
        shares.append((s, share / share.sum()))
    return shares


def words_for(shares: Mapping[str, float], words: Mapping[str, float]) -> str:
    """Write shares of states in frequency words that add up to about one."""
    found = {}
    for state, share in sorted(shares.items(), key=lambda item: -item[1]):
        word = min(words, key=lambda w: abs(math.log(words[w]) - math.log(max(share, 1e-4))))
        if word != "never":
            found[state] = word
    if sum(words[w] for w in found.values()) < 0.7:
        first = next(iter(found))
        found[first] = "usually" if found[first] == "often" else "always"
    while sum(words[w] for w in found.values()) > 1.3 and len(found) > 1:
        found.pop(list(found)[-1])
    return "; ".join(f"{word} {state}" for state, word in found.items())


def fit(library: Library) -> tuple[dict[Key, str], dict[tuple[str, str], float]]:
    """Return new texts of cells and new weights of forms."""
    reference = library.reference
    shares = share_out(reference, library)
    forms = [(form.genus, form.id) for form in reference.entries.forms]
    old_weight = {(f.genus, f.id): f.weight for f in reference.entries.forms}
    cells: dict[Key, str] = {}
    held = defaultdict(float)
    counts: dict[str, int] = defaultdict(int)
    for species, share in shares:
        counts[species.genus] += 1
        for i in np.flatnonzero(share > 1e-6):
            held[forms[i]] += float(share[i])
    for i, key in enumerate(forms):
        own = [(s, float(share[i])) for s, share in shares if share[i] > 1e-3]
        if own:
            cells |= {(*key, id_): text for id_, text in fit_form(reference, key, own).items()}
    weights = {}
    for key, old in old_weight.items():
        prior = max(WEIGHT_PRIOR_SPECIES, counts[key[0]])
        weights[key] = (prior * old + held[key]) / (prior + counts[key[0]])
    return cells, weights


def in_figures(size: float) -> str:
    """Write a size to two figures, without an exponent."""
    return f"{float(f'{size:.2g}'):g}"


def fit_form(
    reference: Reference, key: tuple[str, str], own: list[tuple[Species, float]]
) -> dict[str, str]:
    """Return new texts of one form's growth form and width."""
    words = reference.scheme.words
    written = reference.entries.values[*key, "growth_form"].value
    assert isinstance(written, StateWords)
    old = {state: words[written.words.get(state, "never")]
           for state in reference.scheme.characters["growth_form"].state_ids}  # fmt: skip
    total = sum(old.values())
    counts = {state: PRIOR_SPECIES * share / total for state, share in old.items()}
    for species, share in own:
        inside = sum(old[state] for state in species.growth)
        for state in species.growth:
            counts[state] += share * old[state] / inside
    number = sum(counts.values())
    texts = {"growth_form": words_for({s: c / number for s, c in counts.items()}, words)}
    for id_ in SIZES:
        value = reference.entries.values.get((*key, id_))
        if value is not None and isinstance(value.value, SizeRange):
            low, high = math.log(value.value.low), math.log(value.value.high)
            mean, sd = (low + high) / 2, (high - low) / 3.92
            valleys = has_valleys(reference, key[0])
            if valleys != (id_ == "valley_width_mm"):
                continue
            logs = np.array([math.log(s.width_mm or 1) for s, _ in own])
            weight = np.array([share for _, share in own])
            n = PRIOR_SPECIES + weight.sum()
            new = (PRIOR_SPECIES * mean + weight @ logs) / n
            var = (PRIOR_SPECIES * (sd**2 + (mean - new) ** 2) + weight @ (logs - new) ** 2) / n
            # Colonies vary within a species too.
            reach = 1.96 * math.sqrt(var + 0.1**2)
            texts[id_] = f"{in_figures(math.exp(new - reach))}-{in_figures(math.exp(new + reach))}"
    return texts


def rewrite(folder: str, change: object) -> None:
    """Rewrite every table of a folder row by row."""
    for path in sorted((HERE / folder).glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as stream:
            reader = csv.DictReader(stream)
            fields, rows = reader.fieldnames, list(reader)
        with path.open("w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, fields or [], lineterminator="\n")
            writer.writeheader()
            for row in rows:
                writer.writerows(change(row))  # type: ignore[operator]


def main() -> None:
    """Fit, then rewrite the tables."""
    library = Library()
    cells, weights = fit(library)
    forms: dict[str, list[str]] = defaultdict(list)
    for form in library.reference.entries.forms:
        forms[form.genus].append(form.id)
    own = {
        (row["genus"], row["form"], row["character"])
        for path in (HERE / "values").glob("*.csv")
        for row in csv.DictReader(path.open(newline="", encoding="utf-8"))
    }

    def change_value(row: dict[str, str]) -> list[dict[str, str]]:
        genus, form, id_ = row["genus"], row["form"], row["character"]
        spread = [i for i in forms[genus] if (genus, i, id_) not in own]
        ids = spread if form == "*" else [form]
        new = {i: cells[genus, i, id_] for i in ids if (genus, i, id_) in cells}
        if not new:
            return [row]
        kept = [i for i in ids if i not in new]
        texts = set(new.values())
        if not kept and len(texts) == 1 and ids == (forms[genus] if form == "*" else [form]):
            return [{**row, "value": texts.pop(), "source": "madin2016"}]
        fitted = [
            {**row, "form": i, "value": text, "source": "madin2016"} for i, text in new.items()
        ]
        return [{**row, "form": i} for i in kept if form == "*"] + fitted

    def change_form(row: dict[str, str]) -> list[dict[str, str]]:
        return [{**row, "weight": f"{weights[row['genus'], row['form']]:.3f}"}]

    rewrite("values", change_value)
    rewrite("forms", change_form)


if __name__ == "__main__":
    main()
