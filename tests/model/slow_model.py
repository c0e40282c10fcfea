"""The same model a second time: slow, obvious, one colony and one number at a time.

Written from the model's definition, not from its code: plain loops and floats, no
tables kept. Only the compiled reference is shared.
"""

from __future__ import annotations

import math

from corallum.model.compiled import CompiledCharacter, CompiledReference
from corallum.records.colony import Colony, SizeReport, StateReport

METHOD_LEVEL = 0.5  # an unknown observer is half trained and half new


class SlowModel:
    """P(genus | evidence) by enumeration."""

    def __init__(self, compiled: CompiledReference) -> None:
        self.c = compiled
        self.forms = range(len(compiled.form_weight))
        self.last = len(compiled.form_weight) - 1
        self.mixtures: dict[tuple[object, ...], float] = {}

    def genus(self, colony: Colony, prior: list[float]) -> list[float]:
        """Posterior of every genus, "something else" last."""
        joint = [0.0] * len(prior)
        groups: dict[int, list[tuple[int, StateReport | SizeReport]]] = {}
        for id_, report in colony.observations.items():
            index = self.c.character_index[id_]
            groups.setdefault(self.c.characters[index].group, []).append((index, report))
        base = {g: self.base(g, reports, colony) for g, reports in groups.items()}
        logs = []
        for f in self.forms:
            log = math.log(self.c.form_weight[f]) + math.log(prior[self.c.form_genus[f]])
            for group, reports in groups.items():
                e = self.c.groups[group].misread
                own = self.clean(group, reports, f, colony)
                log += math.log((1 - e) * own + e * base[group])
            logs.append(log)
        top = max(logs)
        for f in self.forms:
            joint[self.c.form_genus[f]] += math.exp(logs[f] - top)
        return [value / sum(joint) for value in joint]

    def base(
        self, g: int, reports: list[tuple[int, StateReport | SizeReport]], colony: Colony
    ) -> float:
        """Likelihood of a group read as just any form, by base weight."""
        return sum(
            self.c.base_weight[h] * self.clean(g, reports, h, colony)
            for h in self.forms
            if self.c.base_weight[h] > 0
        )

    def clean(
        self, g: int, reports: list[tuple[int, StateReport | SizeReport]], f: int, colony: Colony
    ) -> float:
        """Likelihood without misreading: a mixture over conditions where they act."""
        if not self.c.groups[g].conditions_act:
            return math.prod(self.report(i, report, f, 0) for i, report in reports)
        return sum(
            share * math.prod(self.report(i, report, f, k) for i, report in reports)
            for k, share in enumerate(self.conditions(colony))
        )

    def conditions(self, colony: Colony) -> list[float]:
        """P(condition acts), none first."""
        names = self.c.conditions
        if colony.conditions:
            share = 0.9 / len(colony.conditions)
            return [0.1] + [share if name in colony.conditions else 0.0 for name in names]
        return [0.8] + [0.2 / len(names)] * len(names)

    def report(self, i: int, report: StateReport | SizeReport, f: int, k: int) -> float:
        """Likelihood of one report under form f and condition k."""
        character = self.c.characters[i]
        likelihood = self.sure(character, report, f, k)
        if report.sure:
            return likelihood
        return 0.6 * likelihood + 0.4 * self.sure(character, report, self.last, k)

    def sure(
        self, character: CompiledCharacter, report: StateReport | SizeReport, f: int, k: int
    ) -> float:
        """Likelihood of one sure report."""
        if isinstance(report, SizeReport):
            return self.size(character, report, f, k)
        return sum(self.reported(character, state, f, k) for state in report.states)

    def reported(self, character: CompiledCharacter, state: str, f: int, k: int) -> float:
        """P(a state is reported): sum over the states it may truly be."""
        names = [*character.states, "not_applicable"]
        j = names.index(state)
        total = 0.0
        for t in range(len(names)):
            shown = character.true[f][t]
            if character.flips.size:
                shown = sum(
                    character.true[f][u] * character.flips[k][u][t] for u in range(len(names))
                )
            error = (character.errors[0][t][j] + character.errors[1][t][j]) * METHOD_LEVEL
            total += shown * error
        return total

    def size(self, character: CompiledCharacter, report: SizeReport, f: int, k: int) -> float:
        """Density of a size in log units."""
        method = self.c.methods[report.method]
        sd = sum(method.observer_sd) * METHOD_LEVEL
        bias = sum(method.bias) * METHOD_LEVEL
        variance = sd**2 + method.each_sd**2 / report.n
        y = math.log(report.value) - bias
        if character.log_shift.size:
            y -= character.log_shift[k]

        def within(h: int) -> float:
            total = math.sqrt(character.log_sd[h] ** 2 + variance)
            z = (y - character.log_mean[h]) / total
            tail = 1 / math.log(character.most / character.least)
            return 0.998 * math.exp(-z * z / 2) / (total * math.sqrt(2 * math.pi)) + 0.002 * tail

        key = (character.id, report, k)
        if key not in self.mixtures:
            self.mixtures[key] = sum(
                w * within(h) for h, w in enumerate(character.mixture) if w > 0
            )
        base = self.mixtures[key]
        own = within(f) if character.known[f] else base
        if not character.conditional:
            return own
        a = character.applies[f]
        return a * 0.98 * own + (1 - a) * 0.02 * base
