"""A small invented survey at a site whose position is known, with notes that could tell it."""

from __future__ import annotations

from corallum.actions.places import AddSite, add_site
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_plans import PlanSurvey, SurveyView, plan_survey
from corallum.records.survey import Effort, Stratum
from invented import Team

__all__ = ["AT", "TELLTALE", "make_placed"]

# In the middle of an ocean; nothing is there.
AT = (-1.23456, 85.54321)
TELLTALE = "mooring at 1.23456 S"


def make_placed(team: Team) -> SurveyView:
    """Plan it, and write one slate."""
    site = add_site(
        team.programme, AddSite("Far out", "western_indian_ocean", *AT, TELLTALE), *team.by()
    )
    plan = PlanSurvey(
        "Placed", "line_intercept", (Stratum("all", 1.0, (site.id,)),), 1, Effort(1000),
        note=TELLTALE,
    )  # fmt: skip
    view = plan_survey(team.programme, plan, *team.by(team.lead))
    slate = WriteSlate(view.transects[0].id, "400 porites\n1000 sand", depth_m=6.0, note=TELLTALE)
    write_slate(team.programme, slate, *team.by())
    return view
