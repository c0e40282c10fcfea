"""A survey by keyboard, thumb and two people: typed, checked, read again, imported."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import uvicorn

from browser.hands import tab_to, thumb
from browser.stations import LAPTOP, PHONE
from browser.test_every_page import AXE, RUN, WCAG
from corallum.actions.photo_points import (
    AddFrame,
    FinishPoints,
    NamePoint,
    add_frame,
    finish_points,
    name_point,
    point_work,
)
from corallum.actions.places import AddSite, add_site
from corallum.actions.record_readings import DrawReadings, draw_readings, reading_state
from corallum.actions.slates import WriteSlate, get_slate, write_slate
from corallum.actions.survey_flags import flags_of_survey
from corallum.actions.survey_plans import PlanSurvey, SurveyView, get_survey, plan_survey
from corallum.records.survey import Effort, Slate, Stratum
from corallum.web.app import create_app
from corallum.web.visit import PERSON_COOKIE
from invented import Team, picture

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, FilePayload, Page

EFFORTS = {
    "line_intercept": Effort(length_cm=1000),
    "belt": Effort(length_cm=1000, width_cm=100),
    "photo_points": Effort(frames=1, points=6),
}
TABLE = """site,transect,date,observer,genus,from,to
Reef,T1,2026-03-10,Observer 1,Porites,0,120
Reef,T1,2026-03-10,Observer 1,blue coral,120,200
"""


class Reef:
    """A team with one site, served in this process."""

    def __init__(self, folder: Path) -> None:
        self.team = Team(folder)
        self.site = add_site(self.team.programme, AddSite("Reef", "red_sea"), *self.team.by()).id
        app = create_app(self.team.programme, clock=self.team.now)
        self.server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error"))
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.01)
        port = self.server.servers[0].sockets[0].getsockname()[1]
        self.url = f"http://127.0.0.1:{port}"

    def plan(self, method: str) -> SurveyView:
        """Plan a survey of two transects."""
        command = PlanSurvey(
            "Spring", method, (Stratum("all", 1, (self.site,)),), 2, EFFORTS[method],
            (self.team.observer,),
        )  # fmt: skip
        return plan_survey(self.team.programme, command, *self.team.by(self.team.lead))

    def write(self, transect: str, text: str) -> Slate:
        """Write a slate as an observer."""
        command = WriteSlate(transect, text, depth_m=6.0)
        return write_slate(self.team.programme, command, *self.team.by())

    def open(self, browser: Browser, person: str, device: dict[str, object]) -> BrowserContext:
        """Open a browser as one person."""
        context = browser.new_context(**device)  # type: ignore[arg-type]
        context.add_cookies([{"name": PERSON_COOKIE, "value": person, "url": self.url}])
        return context

    def close(self) -> None:
        """Stop serving."""
        self.server.should_exit = True
        self.thread.join(timeout=20)
        self.team.programme.close()


@pytest.fixture
def reef(tmp_path: Path, browser: Browser) -> Iterator[Reef]:
    """Serve a programme with a site and a team."""
    del browser
    found = Reef(tmp_path / "p")
    yield found
    found.close()


def file(name: str, kind: str, data: bytes) -> FilePayload:
    """Return a file to be chosen."""
    return {"name": name, "mimeType": kind, "buffer": data}


def slate_at(reef: Reef, page: Page) -> Slate:
    """Return the slate whose page is open."""
    return get_slate(reef.team.programme, int(page.url.rpartition("/")[2]))[0]


def test_a_lead_types_a_slate_with_the_keyboard_alone(browser: Browser, reef: Reef) -> None:
    """From the survey to the written slate by Tab, Enter and letters; each line is said back."""
    view = reef.plan("line_intercept")
    page = reef.open(browser, reef.team.lead, LAPTOP).new_page()
    page.goto(f"{reef.url}/surveys/{view.event.id}")

    tab_to(page, 'a[aria-label="Type a slate of T1, Reef"]')
    page.keyboard.press("Enter")
    page.wait_for_selector("#depth:focus")
    page.keyboard.type("6.5")
    page.keyboard.press("Tab")
    page.keyboard.type("120 por/mas\n150 nosuch")
    page.wait_for_selector("#taken .wrong")
    assert "0 to 120 cm: Porites, massive" in page.locator("#taken").inner_text()
    for _ in range(len("nosuch")):
        page.keyboard.press("Backspace")
    page.keyboard.type("sand\n1000 acrop")
    page.wait_for_selector("#taken >> text=3 records.")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/slates/*")

    slate = slate_at(reef, page)
    assert [one.label for one in slate.lines] == ["Porites", "sand", "Acropora"]
    assert (slate.depth_m, slate.observer) == (6.5, reef.team.observer)
    page.context.close()


def test_a_lead_decides_a_flag_by_keyboard(browser: Browser, reef: Reef) -> None:
    """A colony outside the belt is left out with a reason, and its line is a link away."""
    view = reef.plan("belt")
    reef.write(view.transects[0].id, "porites 20 80")
    page = reef.open(browser, reef.team.lead, LAPTOP).new_page()
    page.goto(f"{reef.url}/surveys/{view.event.id}/flags")

    tab_to(page, "#note1")
    page.keyboard.type("Beyond the tape")
    tab_to(page, 'button[value="left_out"]')
    page.keyboard.press("Enter")
    page.wait_for_selector(".flag:not(.waits)")

    answers = [one.answer for one in flags_of_survey(reef.team.programme, view.event.id)
               if one.flag.rule == "outside_belt"]  # fmt: skip
    assert [(one.decision, one.note) for one in answers if one] == [("left_out", "Beyond the tape")]
    page.get_by_role("link", name="T1, Reef, line 1").first.click()
    page.wait_for_url("**/slates/*#line-1")
    page.context.close()


def test_a_second_reader_never_sees_what_was_said(browser: Browser, reef: Reef) -> None:
    """Another observer reads both records on a phone; the first names stand nowhere in them."""
    view = reef.plan("belt")
    reef.write(view.transects[0].id, "goniastrea 21\nplatygyra 35")
    url = f"{reef.url}/surveys/{view.event.id}/readings"
    lead = reef.open(browser, reef.team.lead, LAPTOP).new_page()
    lead.goto(url)
    lead.get_by_label("Percent of all records").fill("100")
    lead.get_by_role("button", name="Draw").click()
    lead.wait_for_selector("#said")
    page = reef.open(browser, reef.team.second, PHONE).new_page()

    page.goto(url)
    for left in (2, 1):
        seen = page.locator("main").inner_text()
        assert f"{left} wait{'s' if left == 1 else ''} for you" in seen
        # What may be typed is offered; the words of the page name neither, nor how others agree.
        assert "Goniastrea" not in seen
        assert "Platygyra" not in seen
        if left == 1:
            break
        page.locator("#said").fill("goniastrea")
        thumb(page, page.get_by_role("button", name="Keep it, and the next"))
        page.wait_for_selector("text=1 waits for you")
    page.locator("#said").fill("unreadable")
    page.locator("#said").press("Enter")
    page.wait_for_selector("text=All that were drawn are read again.")

    state = reading_state(reef.team.programme, view.event.id)
    assert sorted(one.label for one in state.readings.values()) == ["Goniastrea", "unreadable"]
    page.context.close()
    lead.context.close()


def test_photo_points_are_named_with_enter_only(browser: Browser, reef: Reef) -> None:
    """Each Enter keeps a name and brings the next point into focus; the slate has all six."""
    view = reef.plan("photo_points")
    page = reef.open(browser, reef.team.observer, LAPTOP).new_page()
    page.goto(f"{reef.url}/transects/{view.transects[0].id}/points")
    page.locator("#photo").set_input_files(file("1.jpg", "image/jpeg", picture(1, (800, 600))))
    page.get_by_role("button", name="Add", exact=True).click()

    names = ["por", "sand", "acropora", "rock", "stony coral", "favites"]
    for number, name in enumerate(names, start=1):
        page.wait_for_selector(f"text=Point {number} of 6")
        page.wait_for_selector("#said:focus")
        page.keyboard.type(name)
        page.keyboard.press("Enter")
    page.wait_for_selector("#depth:focus")
    page.keyboard.type("5")
    page.keyboard.press("Enter")
    page.wait_for_url("**/slates/*")

    assert [one.label for one in slate_at(reef, page).lines] == [
        "Porites", "sand", "Acropora", "rock", "stony coral", "Favites",
    ]  # fmt: skip
    page.context.close()


def test_the_point_before_is_mended_with_a_thumb(browser: Browser, reef: Reef) -> None:
    """On a phone the picture and the field fit together, and one tap goes back a point."""
    view = reef.plan("photo_points")
    page = reef.open(browser, reef.team.observer, PHONE).new_page()
    page.goto(f"{reef.url}/transects/{view.transects[0].id}/points")
    page.locator("#photo").set_input_files(file("1.jpg", "image/jpeg", picture(1, (800, 600))))
    thumb(page, page.get_by_role("button", name="Add", exact=True))
    page.wait_for_selector("text=Point 1 of 6")
    page.locator("#said").fill("porites")
    thumb(page, page.get_by_role("button", name="Keep it, and the next"))
    page.wait_for_selector("text=Point 2 of 6")

    # A keyboard on the screen leaves about 500 of 844 pixels.
    top, bottom = page.locator(".closeup").bounding_box(), page.locator("#said").bounding_box()
    assert top is not None
    assert bottom is not None
    assert bottom["y"] + bottom["height"] - top["y"] < 500
    thumb(page, page.get_by_role("link", name="The point before"))
    page.wait_for_selector("text=Point 1 of 6")
    assert page.locator("#said").input_value() == "Porites"
    page.locator("#said").fill("sand")
    thumb(page, page.get_by_role("button", name="Keep it, and the next"))
    page.wait_for_selector("text=Point 2 of 6")
    assert "1 of 6 points have a name" in page.locator("main").inner_text()
    page.context.close()


def test_a_table_goes_in_after_its_fault_is_mended(browser: Browser, reef: Reef) -> None:
    """A word that is not known is told by row; with its meaning typed the table is imported."""
    view = reef.plan("line_intercept")
    page = reef.open(browser, reef.team.lead, LAPTOP).new_page()
    page.goto(f"{reef.url}/surveys/{view.event.id}/import")
    page.locator("#file").set_input_files(file("reef.csv", "text/csv", TABLE.encode()))
    page.get_by_role("button", name="Look at it").click()

    page.wait_for_selector("#faults")
    assert "row 3, genus" in page.locator("#faults").inner_text()
    page.locator("#meanings").fill("blue coral = Heliopora")
    page.get_by_role("button", name="Look again").first.click()
    page.wait_for_selector("#words-h")
    assert get_survey(reef.team.programme, view.event.id).slates == {}
    page.get_by_role("button", name="Import all of it").click()
    page.wait_for_url(f"**/surveys/{view.event.id}")

    slates = [one for found in get_survey(reef.team.programme, view.event.id).slates.values()
              for one in found]  # fmt: skip
    assert [[line.label for line in one.lines] for one in slates] == [["Porites", "Heliopora"]]
    page.context.close()


def test_a_refused_plan_is_no_barrier(browser: Browser, reef: Reef) -> None:
    """The page of a plan with faults, and that of a table, pass the checker in both themes."""
    view = reef.plan("line_intercept")
    page = reef.open(browser, reef.team.lead, PHONE).new_page()
    page.goto(f"{reef.url}/surveys/new")
    page.locator("#strata").fill("all, x, Nowhere")
    page.get_by_role("button", name="Plan it").click()
    page.wait_for_selector("#faults")
    told = _barriers(page)
    page.goto(f"{reef.url}/surveys/{view.event.id}/import")
    page.locator("#text").fill(TABLE.replace("blue coral", "Heliopora"))
    page.get_by_role("button", name="Look at it").click()
    page.wait_for_selector("#words-h")
    told += _barriers(page)

    assert told == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.context.close()


def test_photos_with_points_are_no_barrier(browser: Browser, reef: Reef) -> None:
    """A slate of photo points and a blind reading on a photo pass the checker in both themes."""
    view = reef.plan("photo_points")
    add, team = view.transects[0].id, reef.team
    add_frame(team.programme, AddFrame(add, picture(1, (800, 600))), *team.by())
    for one in point_work(team.programme, add, team.observer).points:
        name_point(team.programme, NamePoint(add, one.frame, one.point, "porites"), *team.by())
    slate = finish_points(team.programme, FinishPoints(add, 5.0), *team.by())
    draw_readings(team.programme, DrawReadings(view.event.id, 1.0), *team.by(team.lead))
    told = []
    for device in (PHONE, LAPTOP):
        page = reef.open(browser, team.lead, device).new_page()
        for path in (f"/slates/{slate.history}?show=1", f"/surveys/{view.event.id}/readings"):
            page.goto(reef.url + path)
            told += _barriers(page)
            width = device["viewport"]["width"]
            assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.context.close()

    assert told == []


def _barriers(page: Page) -> list[object]:
    """Return what the checker finds on the page that is open."""
    page.evaluate(AXE)
    light = page.evaluate(RUN, {"type": "tag", "values": WCAG})
    page.emulate_media(color_scheme="dark")
    dark = page.evaluate(RUN, {"type": "rule", "values": ["color-contrast"]})
    page.emulate_media(color_scheme="light")
    assert len(light["passes"]) > 5
    return [(one["id"], [node["html"][:120] for node in one["nodes"]][:3])
            for one in light["violations"] + dark["violations"]]  # fmt: skip


def test_a_dive_sheet_is_one_light_page(browser: Browser, reef: Reef) -> None:
    """Two transects print on two pages of A4, dark ink on white on a machine that is dark."""
    view = reef.plan("belt")
    page = reef.open(browser, reef.team.observer, {**LAPTOP, "color_scheme": "dark"}).new_page()
    page.goto(f"{reef.url}/surveys/{view.event.id}/sheets")

    printed = page.pdf(format="A4", margin={"top": "12mm", "bottom": "12mm"})
    page.emulate_media(media="print", color_scheme="dark")
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    shown = [
        page.locator(one).is_visible() for one in ("nav", "h1", "footer", ".divesheet >> nth=0")
    ]

    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 2
    assert paper == "rgb(255, 255, 255)"
    assert shown == [False, False, False, True]
    page.context.close()
