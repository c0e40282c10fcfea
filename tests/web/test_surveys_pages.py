"""Surveys: planned with every fault at once, shown with what is to be done next, repeated."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from corallum.actions.permits import list_permits
from corallum.actions.survey_plans import get_survey, list_surveys
from web.survey_desk import Desk, open_desk, text_of

PLAN = {
    "name": "Spring", "date": "2026-03-10", "method": "belt", "length_cm": "1000",
    "width_cm": "200", "strata": "shallow, 3, inner reef\ndeep, 1, Outer reef\n",
    "transects": "2", "share": "20",
}  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Open a programme with two sites."""
    with open_desk(tmp_path / "p") as found:
        yield found


def test_a_plan_is_laid_out_as_it_was_typed(desk: Desk) -> None:
    """Strata, effort, observers and share are those of the form; each site has its transects."""
    answer = desk.client.post("/surveys/new", data={**PLAN, "observers": [desk.team.observer]})

    view = get_survey(desk.team.programme, list_surveys(desk.team.programme)[0].event.id)
    assert answer.url.path == f"/surveys/{view.event.id}"
    assert [(one.name, one.area, one.sites) for one in view.plan.strata] == [
        ("shallow", 3.0, (desk.sites[0],)), ("deep", 1.0, (desk.sites[1],)),
    ]  # fmt: skip
    assert (view.plan.effort.length_cm, view.plan.effort.width_cm) == (1000, 200)
    assert view.plan.observers == (desk.team.observer,)
    assert view.plan.second_share == pytest.approx(0.2)
    assert len(view.transects) == 4


def test_every_fault_of_a_plan_shows_at_once_and_nothing_is_lost(desk: Desk) -> None:
    """Name, strata by line, effort, transects, share and day are all told; the text stays."""
    strata = "shallow, 3, Inner reef\nshallow, 4, Outer reef\ndeep, x, Nowhere\nonly two, 1"
    typed = {**PLAN, "name": " ", "strata": strata, "width_cm": "wide", "transects": "2.5",
             "share": "110", "date": "10 March", "note": "keep <this>"}  # fmt: skip

    answer = desk.client.post("/surveys/new", data=typed)

    assert answer.status_code == 422
    told = text_of(answer.text)
    for part in ("plan, name", "strata, line 2", "strata, line 3: expected an area",
                 "strata, line 3: expected a site", "strata, line 4", "width cm",
                 "transects a site", "percent read again", "10 March"):  # fmt: skip
        assert part in told, part
    assert strata in answer.text
    assert "keep &lt;this&gt;" in answer.text
    assert 'value="wide"' in answer.text
    assert list_surveys(desk.team.programme) == ()


def test_a_site_in_two_strata_is_told_with_both_lines(desk: Desk) -> None:
    """The second line of a site says where the first one stands."""
    typed = {**PLAN, "strata": "shallow, 3, Inner reef\n\ndeep, 1, inner reef"}

    told = text_of(desk.client.post("/surveys/new", data=typed).text)

    assert "line 3: expected each site once, found Inner reef, which stands on line 1 too" in told


@pytest.mark.parametrize("who", ["observer", "reader"])
def test_only_a_lead_plans(desk: Desk, who: str) -> None:
    """Others get no form, and can't send one."""
    desk.be(getattr(desk.team, who))

    assert desk.client.get("/surveys/new").status_code == 403
    assert desk.client.post("/surveys/new", data=PLAN).status_code == 403
    assert "Plan a survey" not in desk.see("/surveys")


def test_a_survey_says_what_is_to_be_done_next(desk: Desk) -> None:
    """Transects without a slate come first, then flags, then records that wait to be read."""
    view = desk.plan("belt")
    desk.write(desk.transects(view)[0], "porites 20\nacropora 3000")
    url = f"/surveys/{view.event.id}"

    before = desk.see(url)
    for _ in range(1):
        desk.client.post(f"{url}/readings/draw", data={"share": "100", "least": "1"})
    after = desk.see(url)

    assert "3 transects have no slate yet; next: Inner reef, T2." in before
    # The size that no colony reaches, and an observer who passed no test.
    assert "2 flags wait for a decision." in before
    assert "No records are drawn to be read again yet; the plan says 10 %." in before
    assert "May record families only, as no test is passed: Observer 1." in before
    assert "2 records wait for a second reading, 2 of them for you." in after


def test_a_repeated_survey_is_filled_in(desk: Desk) -> None:
    """The form of a survey like another has its strata, effort and transects."""
    view = desk.plan("belt")

    page = desk.client.get(f"/surveys/new?like={view.event.id}").text

    assert "shallow, 3, Inner reef\ndeep, 1, Outer reef" in page
    assert f'value="{view.event.id}" selected' in page
    assert 'name="same" value="1" checked' in page
    assert 'name="width_cm" value="100"' in page


def test_a_lead_changes_who_dives(desk: Desk) -> None:
    """Observers, share and note are changed; a share beyond all records is refused."""
    view = desk.plan()
    url = f"/surveys/{view.event.id}/plan"

    refused = desk.client.post(url, data={"share": "200", "note": "x"})
    desk.client.post(url, data={"share": "25", "note": "Calm", "observers": [desk.team.second]})

    plan = get_survey(desk.team.programme, view.event.id).plan
    assert refused.status_code == 422
    assert (plan.second_share, plan.note, plan.observers) == (0.25, "Calm", (desk.team.second,))


def test_sheets_are_of_transects_without_a_slate(desk: Desk) -> None:
    """A sheet a transect, with its site, method and effort, and what comes first under water."""
    view = desk.plan("belt")
    desk.write(desk.transects(view)[0], "porites 20")
    url = f"/surveys/{view.event.id}/sheets"

    page, all_ = desk.client.get(url).text, desk.client.get(f"{url}?which=all").text

    assert page.count('class="divesheet"') == 3
    assert all_.count('class="divesheet"') == 4
    told = text_of(page)
    assert "Inner reef, T2" in told
    assert "diameter cm" in told
    assert "The dive supervisor decides" in told
    assert desk.client.get(f"{url}?site={desk.sites[1]}").text.count('class="divesheet"') == 2


def test_permits_are_listed_with_their_expiry(desk: Desk) -> None:
    """A permit is added by a lead, and one that expired says so; one without a day is refused."""
    typed = {"permit_number": "P-1", "holder": "The station", "expires": "2026-01-31"}

    missing = desk.client.post("/programme/permits", data={**typed, "expires": ""})
    desk.client.post("/programme/permits", data=typed)
    told = desk.see("/programme")
    desk.be(desk.team.observer)
    other = desk.client.post("/programme/permits", data={**typed, "permit_number": "P-2"})

    assert missing.status_code == 422
    assert other.status_code == 403
    assert [one.number for one in list_permits(desk.team.programme)] == ["P-1"]
    assert "held by The station; expired on 31 January 2026" in told


def test_a_name_is_never_taken_for_a_tag(desk: Desk) -> None:
    """The name of a survey is shown as it was written on every page of it."""
    view = desk.plan("belt", "<b>Spring & autumn</b>")
    slate = desk.write(desk.transects(view)[0], "porites 20")
    url = f"/surveys/{view.event.id}"

    for path in ("/surveys", url, f"{url}/flags", f"{url}/readings", f"{url}/sheets",
                 f"{url}/import", f"/slates/{slate.history}",
                 f"{url}/transects/{desk.transects(view)[1]}"):  # fmt: skip
        page = desk.client.get(path)
        assert page.status_code == 200, path
        assert "<b>Spring" not in page.text, path
        assert "&lt;b&gt;Spring &amp; autumn" in page.text, path
