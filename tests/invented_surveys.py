"""Small invented surveys for tests: what is there is known, and so is what was said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Any

import numpy as np

from corallum.actions.places import AddSite, add_site, list_sites
from corallum.actions.record_readings import DrawReadings, ReadRecord, draw_readings, read_record
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_plans import PlanSurvey, SurveyView, get_survey, plan_survey
from corallum.records.survey import Effort, Line, ReadingDraw, Slate, Stratum
from invented import Team

__all__ = ["EFFORTS", "Made", "add_sites", "laid_out", "make_survey", "typed"]

Record = tuple[int, int]
_NUMBERS = count(1)

EFFORTS: Mapping[str, Effort] = {
    "line_intercept": Effort(length_cm=1000),
    "point_intercept": Effort(points=40),
    "photo_points": Effort(frames=2, points=20),
    "belt": Effort(length_cm=1000, width_cm=100),
    "quadrat": Effort(frames=3, frame_area_m2=1.0),
    "quadrat_cover": Effort(frames=3),
}
# Shares of the invented reef, and what an observer may take each for, how often.
REEF = {
    "Porites": 0.25, "Acropora": 0.2, "Pocillopora": 0.1, "Favites": 0.1, "Goniastrea": 0.1,
    "sand": 0.1, "rock": 0.15,
}  # fmt: skip
MIX = {"Favites": ("Goniastrea", 0.4), "Goniastrea": ("Favites", 0.2)}


@dataclass
class Made:
    """A survey, and what each of its records truly is."""

    team: Team
    view: SurveyView
    true: dict[Record, str] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """Id of the survey."""
        return self.view.event.id

    @property
    def slates(self) -> tuple[Slate, ...]:
        """Slates that stand, in the order written."""
        found = get_survey(self.team.programme, self.id).slates.values()
        return tuple(sorted((one for group in found for one in group), key=lambda s: s.history))

    @property
    def lines(self) -> dict[Record, Line]:
        """Lines of the slates that stand."""
        return {
            (slate.history, n): line
            for slate in self.slates
            for n, line in enumerate(slate.lines, start=1)
        }

    def write(self, transect: str, true: Sequence[str], text: str, **about: Any) -> Slate:  # noqa: ANN401  fields of WriteSlate
        """Write a slate whose lines are truly something."""
        command = WriteSlate(transect, text, depth_m=6.0, **about)
        slate = write_slate(self.team.programme, command, *self.team.by())
        self.true |= {(slate.history, n): name for n, name in enumerate(true, start=1)}
        return slate

    def draw(self, share: float = 1.0, **about: Any) -> ReadingDraw:  # noqa: ANN401  fields of DrawReadings
        """Draw records to be read again."""
        command = DrawReadings(self.id, share, **about)
        return draw_readings(self.team.programme, command, *self.team.by(self.team.lead))

    def read_again(self, share: float = 1.0, *, agree: bool = False) -> ReadingDraw:
        """Draw a share and read it: as it truly is, or as it was said."""
        drawn, lines = self.draw(share), self.lines
        for record in drawn.records:
            said = lines[record].said if agree else self.true[record]
            command = ReadRecord(*record, said)
            read_record(self.team.programme, command, *self.team.by(self.team.second))
        return drawn


def add_sites(team: Team, n: int) -> tuple[str, ...]:
    """Sites of the invented reserve by their names; those missing are added."""
    known = {one.name: one.id for one in list_sites(team.programme)}
    found = []
    for i in range(n):
        name = f"Site {i + 1}"
        if name not in known:
            command = AddSite(name, "red_sea", 0.1 * i, 35 + 0.1 * i)
            known[name] = add_site(team.programme, command, *team.by()).id
        found.append(known[name])
    return tuple(found)


def laid_out(
    team: Team,
    name: str = "",
    method: str = "line_intercept",
    *,
    sites: int = 4,
    transects: int = 2,
    areas: Sequence[float] = (3.0, 1.0),
    **about: Any,  # noqa: ANN401  fields of PlanSurvey
) -> Made:
    """A survey without slates; its sites fall to the strata in equal parts.

    Without a name it gets one of its own.
    """
    ids = add_sites(team, sites)
    parts = np.array_split(np.arange(sites), len(areas))
    strata = tuple(
        Stratum(f"zone {h + 1}", area, tuple(ids[i] for i in part))
        for h, (area, part) in enumerate(zip(areas, parts, strict=True))
    )
    effort = about.pop("effort", EFFORTS[method])
    name = name or f"Survey {next(_NUMBERS)}"
    command = PlanSurvey(name, method, strata, transects, effort, (team.observer,), **about)
    return Made(team, plan_survey(team.programme, command, *team.by(team.lead)))


def make_survey(
    team: Team,
    name: str = "",
    method: str = "line_intercept",
    *,
    seed: int = 3,
    reef: Mapping[str, float] | None = None,
    mix: Mapping[str, tuple[str, float]] | None = None,
    **about: Any,  # noqa: ANN401  as of laid_out
) -> Made:
    """A survey with a slate for every transect; who reads takes some genera for others."""
    # The reef has a stream of its own: other observers meet the same reef.
    rng, reefs = np.random.default_rng(seed), np.random.default_rng([seed, 1])
    made = laid_out(team, name, method, **about)
    shares = dict(reef or REEF)
    total = sum(shares.values())
    mistaken = MIX if mix is None else mix
    for transect in made.view.transects:
        chances = reefs.dirichlet([20 * one / total for one in shares.values()])
        true = [str(one) for one in reefs.choice(list(shares), 40, p=chances)]
        if made.view.plan.method in ("belt", "quadrat", "quadrat_cover"):
            true = [one for one in true if one[0].isupper()]
        said = [
            mistaken[one][0] if one in mistaken and rng.random() < mistaken[one][1] else one
            for one in true
        ]
        made.write(transect.id, true, typed(method, said, rng))
    return made


def typed(method: str, said: Sequence[str], rng: np.random.Generator) -> str:
    """What was said, as a slate of a method is typed."""
    if method == "line_intercept":
        ends = np.sort(rng.choice(np.arange(1, 1000), len(said) - 1, replace=False))
        return "\n".join(
            f"{end} {one}" for end, one in zip([*ends.tolist(), 1000], said, strict=True)
        )
    if method == "belt":
        return "\n".join(f"{one} {rng.integers(5, 60)}" for one in said)
    if method == "quadrat":
        return "\n".join(f"{1 + i % 3} {one}" for i, one in enumerate(said))
    if method == "quadrat_cover":
        return "\n".join(f"{1 + i % 3} {one} {rng.integers(1, 7)}" for i, one in enumerate(said))
    return "\n".join(said)
