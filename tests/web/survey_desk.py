"""A programme with surveys, and its pages as each of its people sees them."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.testclient import TestClient

from corallum.actions.places import AddSite, add_site
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_plans import PlanSurvey, SurveyView, plan_survey
from corallum.records.survey import Effort, Slate, Stratum
from corallum.web.app import create_app
from invented import Team
from web.opened import LOCAL, OWN

__all__ = ["EFFORTS", "Desk", "open_desk", "text_of"]

EFFORTS = {
    "line_intercept": Effort(length_cm=1000),
    "point_intercept": Effort(points=10),
    "photo_points": Effort(frames=2, points=3),
    "belt": Effort(length_cm=1000, width_cm=100),
    "quadrat": Effort(frames=3, frame_area_m2=1.0),
    "quadrat_cover": Effort(frames=3),
}


class Desk:
    """A team with two sites, and a client of its pages."""

    def __init__(self, folder: Path) -> None:
        self.team = Team(folder)
        self.sites = [
            add_site(self.team.programme, AddSite(name, "red_sea"), *self.team.by()).id
            for name in ("Inner reef", "Outer reef")
        ]
        app = create_app(self.team.programme, clock=self.team.now)
        self.client = TestClient(app, base_url=LOCAL, headers=OWN, raise_server_exceptions=False)

    def be(self, person: str) -> None:
        """Choose who is at the machine."""
        self.client.post("/person", data={"person": person})

    def plan(self, method: str = "line_intercept", name: str = "Spring") -> SurveyView:
        """Plan a survey of two transects at each site."""
        strata = (Stratum("shallow", 3, (self.sites[0],)), Stratum("deep", 1, (self.sites[1],)))
        command = PlanSurvey(name, method, strata, 2, EFFORTS[method], (self.team.observer,))
        return plan_survey(self.team.programme, command, *self.team.by(self.team.lead))

    def transects(self, view: SurveyView) -> list[str]:
        """Return T1 and T2 of the inner reef, then those of the outer one."""
        found = sorted(view.transects, key=lambda one: (self.sites.index(one.site or ""), one.name))
        return [one.id for one in found]

    def write(self, transect: str, text: str, person: str | None = None) -> Slate:
        """Write a slate as an observer."""
        command = WriteSlate(transect, text, depth_m=6.0)
        return write_slate(self.team.programme, command, *self.team.by(person))

    def see(self, path: str) -> str:
        """Return what a page says, without its tags."""
        answer = self.client.get(path)
        assert answer.status_code == 200, (path, answer.status_code)
        return text_of(answer.text)


@contextmanager
def open_desk(folder: Path) -> Iterator[Desk]:
    """Open the pages of a programme, closed at the end."""
    desk = Desk(folder)
    yield desk
    desk.team.programme.close()


def text_of(page: str) -> str:
    """Return the words of a page, single blanks between; what is typed in fields is no word."""
    page = re.sub(r"<(textarea|datalist|select)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())
