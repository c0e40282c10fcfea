"""Invented colonies with everything that a record may hold, and how two answers differ."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from corallum.model.compiled import CompiledCharacter, CompiledReference
from corallum.model.errors import Observer
from corallum.model.likelihood import Kernel
from corallum.model.prior import genus_prior
from corallum.model.simulate import Simulated, simulate
from corallum.records.colony import Colony, Report, SizeReport, StateReport
from corallum.reference.genera import REGIONS

__all__ = ["HARD", "colony_json", "differences", "invented_colonies"]

_MASSIVE = {"growth_form": StateReport(("massive",)), "calice_diameter_mm": SizeReport(8.0, 4)}
# What seldom comes up by chance: views that differ in doubt or contradict each other, a view
# by itself on which the answer hangs, sets that say nothing, and characters that are hidden.
HARD = (
    Colony("nothing"),
    Colony("doubt", {"shared_wall": StateReport(("yes",)),
                     "corallite_arrangement": StateReport(("plocoid", "cerioid"), sure=False)}),
    Colony("view", {"shared_wall": StateReport(("yes",)), **_MASSIVE}, "indo_pacific"),
    Colony("other view", {"shared_wall": StateReport(("no",)), **_MASSIVE}, "red_sea"),
    Colony("contradiction", {"shared_wall": StateReport(("no",)),
                             "corallite_arrangement": StateReport(("cerioid",)), **_MASSIVE}),
    Colony("two words", {"openings": StateReport(("calices",)),
                         "corallite_arrangement": StateReport(("meandroid", "cerioid")),
                         "valley_width_mm": StateReport(("not_applicable",), sure=False)}),
    Colony("nothing said", {"columella": StateReport(("not_looked_at",)),
                            "attachment": StateReport(("attached", "stalked", "free"))}),
    Colony("hidden", {"day_expansion": StateReport(("retracted",)), **_MASSIVE}, "atlantic", None,
           ("night", "bleached", "shaded", "crowded")),
    Colony("ends", {"calice_diameter_mm": SizeReport(0.05), "septa_count": SizeReport(400.0),
                    "colony_diameter_cm": SizeReport(0.1, 1, "published", sure=False)}),
    Colony("skeleton", {"septal_structure": StateReport(("not_applicable",)),
                        "tooth_height_mm": SizeReport(0.3, 10, "photo"),
                        "skeleton_colour": StateReport(("blue",))}),
)  # fmt: skip

_METHODS = ("eye", "ruler", "photo", "published")


def invented_colonies(compiled: CompiledReference, count: int, seed: int) -> list[Colony]:
    """Draw colonies and their reports from the model, with sets, doubts, views and conditions.

    None to twelve characters are looked at, of skeletons too; half as many colonies as
    there are come out of each region in turn.
    """
    rng = np.random.default_rng(seed)
    found: list[Colony] = []
    kernel = Kernel(compiled, Observer.UNKNOWN)
    for region in (None, *REGIONS):
        share = math.ceil(count / (len(REGIONS) + 1))
        looked = np.zeros((share, len(compiled.characters)), dtype=np.bool_)
        for row in looked:
            row[rng.choice(looked.shape[1], rng.integers(0, 13), replace=False)] = True
        drawn = simulate(kernel, genus_prior(compiled, region), looked, rng)
        found += [_colony(compiled, drawn, i, region, rng) for i in range(share)]
    return [found[i] for i in rng.permutation(len(found))[:count]]


def _colony(
    compiled: CompiledReference, drawn: Simulated, i: int, region: str | None,
    rng: np.random.Generator,
) -> Colony:  # fmt: skip
    """Turn the reports of one drawn colony into a record."""
    reports: dict[str, Report] = {}
    for c, states in drawn.evidence.states.items():
        if states.codes[i]:
            reports.update(_states(compiled, c, int(states.codes[i]) - 1, rng))
    for c, sizes in drawn.evidence.sizes.items():
        character = compiled.characters[c]
        if sizes.inapplicable[i]:
            reports[character.id] = StateReport(("not_applicable",), bool(rng.random() < 0.8))
        elif not np.isnan(sizes.log_value[i]):
            reports[character.id] = _size(character, float(np.exp(sizes.log_value[i])), rng)
    known = (*compiled.conditions, *compiled.hidden)
    named = tuple(name for name in known if rng.random() < 0.08)
    return Colony(f"{region}-{i}", reports, region, None, named)


def _states(
    compiled: CompiledReference, c: int, column: int, rng: np.random.Generator
) -> dict[str, Report]:
    """Report a state: by itself, in a set, unsure, or by a view of its character as well."""
    character = compiled.characters[c]
    words = (*character.states, "not_applicable")
    said = {words[column]}
    if rng.random() < 0.2:
        said.add(words[int(rng.integers(len(character.states)))])
    found: dict[str, Report] = {
        character.id: StateReport(tuple(sorted(said)), bool(rng.random() < 0.85))
    }
    views = [view for view in compiled.views if view.character == c and column in view.columns]
    if views and rng.random() < 0.4:
        view = views[int(rng.integers(len(views)))]
        report = StateReport((view.state,), bool(rng.random() < 0.85))
        found = {view.id: report} if rng.random() < 0.5 else {**found, view.id: report}
    return found


def _size(character: CompiledCharacter, value: float, rng: np.random.Generator) -> SizeReport:
    """Report a size as people write one, by any method; at times one that rounds to a tie."""
    value = min(max(float(f"{value:.3g}"), character.least), character.most)
    if rng.random() < 0.1:
        value = min(max(1.6875, character.least), character.most)
    method = _METHODS[int(rng.integers(len(_METHODS)))]
    return SizeReport(value, int(rng.integers(1, 12)), method, bool(rng.random() < 0.85))


def colony_json(colony: Colony) -> dict[str, Any]:
    """Write a colony as a file of colonies holds it."""
    reports: dict[str, Any] = {}
    for id_, report in colony.observations.items():
        if isinstance(report, SizeReport):
            reports[id_] = {"value": report.value, "n": report.n, "method": report.method,
                            "sure": report.sure}  # fmt: skip
        else:
            reports[id_] = {"state": list(report.states), "sure": report.sure}
    return {"id": colony.id, "region": colony.region, "observer": None,
            "conditions": list(colony.conditions), "observations": reports}  # fmt: skip


def differences(here: dict[str, Any], there: dict[str, Any], within: float) -> list[str]:
    """Say in which way two answers differ; numbers may by ``within``.

    Lists that are sorted by a number are compared by name, for the order of what is
    equal to the last digit is nobody's rule.
    """
    found: list[str] = []
    _compare("", _by_name(here), _by_name(there), within, found)
    return found


def _by_name(answer: dict[str, Any]) -> dict[str, Any]:
    """Return an answer with its sorted lists as mappings."""
    why = answer["why"]
    return {
        **answer,
        "candidates": {str(one["genus"]): one for one in answer["candidates"]},
        "next_looks": {
            one["character"]: {key: one[key] for key in ("gain_bits", "seconds", "seen")}
            for one in answer["next_looks"]
        },
        "fragile": {f"{one['character']} {one['change']}": one for one in answer["fragile"]},
        "why": {**why, "decibans": {one["character"]: one for one in why["decibans"]}},
    }


def _compare(place: str, here: object, there: object, within: float, found: list[str]) -> None:
    """Compare two values of plain JSON, part by part."""
    if isinstance(here, list) and isinstance(there, list):
        here, there = dict(enumerate(here)), dict(enumerate(there))
    if isinstance(here, dict) and isinstance(there, dict):
        found += [f"{place}.{key} is on one side only" for key in here.keys() ^ there.keys()]
        for key in here.keys() & there.keys():
            _compare(f"{place}.{key}", here[key], there[key], within, found)
    elif _number(here) and _number(there):
        if not abs(here - there) <= within:  # type: ignore[operator]
            found.append(f"{place}: {here!r} and {there!r}")
    elif here != there:
        found.append(f"{place}: {here!r} and {there!r}")


def _number(value: object) -> bool:
    """Whether a value is a number."""
    return isinstance(value, int | float) and not isinstance(value, bool)
