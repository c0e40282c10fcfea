"""Practice, the projector and tests in a real browser, with a clock that the test sets."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import uvicorn

from browser.hands import thumb
from browser.stations import LAPTOP, NOW, PHONE
from corallum.actions.people import AddPerson, add_person, list_people
from corallum.actions.practice_sets import MakeSet, get_set, list_sets, make_set
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.practice.item import Item
from corallum.practice.kept import PracticeSet
from corallum.store.programme import Programme
from corallum.web.app import create_app
from corallum.web.visit import PERSON_COOKIE

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page


class Clocked:
    """A programme served in this process, whose clock stands where it is set."""

    def __init__(self, folder: Path) -> None:
        self.now = NOW
        self.rng = np.random.default_rng(8)
        command = CreateProgramme("Invented", ("indo_pacific",), "Lead")
        self.programme: Programme = create_programme(folder, command, self.now, self.rng)
        self.lead = list_people(self.programme)[0].id
        command_ = AddPerson("Observer 1", "observer")
        self.observer = add_person(self.programme, command_, self.now, self.rng, self.lead).id
        config = uvicorn.Config(
            create_app(self.programme, clock=self.clock), port=0, log_level="error"
        )
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.01)
        port = self.server.servers[0].sockets[0].getsockname()[1]
        self.url = f"http://127.0.0.1:{port}"

    def clock(self) -> datetime:
        """What time it is."""
        return self.now

    def make(self, size: int, purpose: str = "common") -> PracticeSet:
        """Make a set as the lead."""
        command = MakeSet("First look", purpose, size=size)
        return make_set(self.programme, command, self.now, self.rng, self.lead)

    def open(self, browser: Browser, person: str, device: dict[str, object]) -> BrowserContext:
        """Open a browser as one person."""
        context = browser.new_context(**device)  # type: ignore[arg-type]
        context.add_cookies([{"name": PERSON_COOKIE, "value": person, "url": self.url}])
        return context

    def close(self) -> None:
        """Stop serving."""
        self.server.should_exit = True
        self.thread.join(timeout=20)
        self.programme.close()


@pytest.fixture
def clocked(tmp_path: Path, browser: Browser) -> Iterator[Clocked]:
    """Serve a programme with a lead and an observer."""
    del browser
    found = Clocked(tmp_path / "p")
    yield found
    found.close()


def say(page: Page, genus: str) -> None:
    """Type a genus and answer."""
    page.locator("#genera").fill(genus)
    page.get_by_role("button", name="Answer").click()


def test_twelve_items_on_a_phone_come_back_the_next_day(browser: Browser, clocked: Clocked) -> None:
    """An observer names twelve colonies with a thumb, reads each worked, and finds them due."""
    made = clocked.make(12)
    page = clocked.open(browser, clocked.observer, PHONE).new_page()
    page.goto(clocked.url + "/practice")
    thumb(page, page.get_by_role("link", name="First look"))
    thumb(page, page.get_by_role("link", name="Begin"))

    for i, item in enumerate(made.items):
        page.wait_for_selector("#genera")
        page.locator("#genera").fill(item.genus if i % 3 else "Favites")
        thumb(page, page.get_by_role("button", name="Answer"))
        page.wait_for_selector("[data-said]")
        assert item.genus in page.locator("[data-said]").inner_text()
        assert page.get_by_role("heading", name="What decides").is_visible()
        thumb(page, page.locator("a.button.main"))
    page.wait_for_url(f"**/practice/{made.id}")
    assert "All answered" in page.locator("main").inner_text()

    page.goto(clocked.url + "/practice")
    soon = page.locator("main").inner_text()
    clocked.now += timedelta(days=1)
    page.goto(clocked.url + "/practice")
    assert "are due" in page.locator("main").inner_text() != soon
    thumb(page, page.get_by_role("button", name="Practise what is due"))
    page.wait_for_url("**/practice/*")
    again = next(one for one in list_sets(clocked.programme) if one.id != made.id)
    assert {item.genus for item in again.items} <= {item.genus for item in made.items}
    page.context.close()


def test_a_lead_shows_a_set_and_walks_through_the_answers(
    browser: Browser, clocked: Clocked
) -> None:
    """No answer shows while the clock runs; then the same colonies come with what decides."""
    made = clocked.make(3)
    page = clocked.open(browser, clocked.lead, LAPTOP).new_page()
    page.goto(f"{clocked.url}/practice/{made.id}/show?seconds=5")
    page.locator("[data-clock]", has_text="time").wait_for()

    for item in made.items[:-1]:
        assert item.genus not in page.locator("main").inner_text()
        with page.expect_navigation():
            page.keyboard.press("ArrowRight")
    assert made.items[-1].genus not in page.locator("main").inner_text()
    page.get_by_role("link", name="Walk through the answers").click()
    for number, item in enumerate(made.items, start=1):
        page.wait_for_url(f"**item={number}&answers=1")
        assert item.genus in page.locator("h1").inner_text()
        page.locator("a.button.main").click()
    page.wait_for_url(f"**/practice/{made.id}")
    page.context.close()


@pytest.mark.parametrize(
    ("right", "outcome"),
    [pytest.param(True, "Passed", id="passed"), pytest.param(False, "Not passed", id="failed")],
)
def test_a_test_reaches_both_outcomes(
    browser: Browser, clocked: Clocked, *, right: bool, outcome: str
) -> None:
    """A lead begins a test; the observer answers until it is decided, and the page says how."""
    lead = clocked.open(browser, clocked.lead, LAPTOP).new_page()
    lead.goto(f"{clocked.url}/observers/tests?good=95&poor=70&error=5")
    lead.get_by_label("Who", exact=True).select_option(label="Observer 1")
    lead.get_by_role("button", name="Begin").click()
    lead.wait_for_url("**/observers/tests/*")
    address = lead.url

    page = clocked.open(browser, clocked.observer, PHONE).new_page()
    page.goto(address)
    number = 0
    items = _items(clocked, address.rpartition("/")[2])
    while (
        page.get_by_role("link", name="Begin")
        .or_(page.get_by_role("link", name="Next colony"))
        .count()
    ):
        thumb(page, page.locator("a.button.main"))
        page.wait_for_selector("#genera")
        genus = items[number].genus
        wrong = "Acropora" if genus != "Acropora" else "Porites"
        say(page, genus if right else wrong)
        page.wait_for_url(address)
        number += 1
    assert page.locator(".sentence").inner_text().startswith(outcome)
    assert 2 <= number < len(items)
    lead.goto(f"{clocked.url}/observers")
    row = lead.get_by_role("row", name="Observer 1").inner_text()
    assert ("genera, until" in row) is right
    page.context.close()


def _items(clocked: Clocked, set_id: str) -> tuple[Item, ...]:
    """Items of a test."""
    return get_set(clocked.programme, set_id).items


def test_a_lead_finds_a_mix_up_hands_out_a_set_and_sees_it_mended(
    browser: Browser, clocked: Clocked
) -> None:
    """What an observer mixes up is named, a set of the pair is one click, and its marks show."""
    made = make_set(
        clocked.programme,
        MakeSet("Walls", "pair", size=8, genera=("Favites", "Dipsastraea")),
        clocked.now, clocked.rng, clocked.lead,
    )  # fmt: skip
    page = clocked.open(browser, clocked.observer, LAPTOP).new_page()
    _answer_all(page, clocked.url, made, {"Favites": "Dipsastraea", "Dipsastraea": "Favites"})

    lead = clocked.open(browser, clocked.lead, LAPTOP).new_page()
    lead.goto(f"{clocked.url}/observers")
    lead.get_by_role("link", name="Observer 1").click()
    lead.wait_for_selector("#pair-h")
    assert {"Favites", "Dipsastraea"} <= set(lead.locator("#pair-h").inner_text().split())
    lead.get_by_role("button", name="Make a set that mends it").click()
    lead.wait_for_url("**/practice/*")
    clocked.now += timedelta(days=2)
    mending = next(one for one in list_sets(clocked.programme) if one.id != made.id)
    assert mending.made_for == clocked.observer
    _answer_all(page, clocked.url, mending, {})

    lead.goto(f"{clocked.url}/observers/{clocked.observer}")
    rows = lead.get_by_role("region", name="Table of sets").get_by_role("row").all_inner_texts()
    assert "0 of 8" in rows[1]
    assert f"{len(mending.items)} of {len(mending.items)}" in rows[2]
    page.context.close()
    lead.context.close()


def _answer_all(page: Page, url: str, made: PracticeSet, mixed_up: dict[str, str]) -> None:
    """Answer every item of a set, some genera as others."""
    for number, item in enumerate(made.items, start=1):
        page.goto(f"{url}/practice/{made.id}/items/{number}")
        say(page, mixed_up.get(item.genus, item.genus))
        page.wait_for_selector("[data-said]")


def test_the_file_of_a_set_opens_without_the_program(
    browser: Browser, clocked: Clocked, tmp_path: Path
) -> None:
    """The file asks nothing of any server: colonies to name first, then the same ones worked."""
    made = clocked.make(3)
    context = clocked.open(browser, clocked.lead, LAPTOP)
    answer = context.request.get(f"{clocked.url}/practice/{made.id}/file")
    file = tmp_path / "set.html"
    file.write_bytes(answer.body())
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())

    assert page.locator("article img").count() == 6
    assert page.evaluate("[...document.images].every(one => one.naturalWidth > 0)")
    assert all(url.startswith(("file:", "data:")) for url in asked)
    first = page.get_by_label("Colonies to name").inner_text()
    assert not [item.genus for item in made.items if item.genus in first]
    worked = page.locator("#worked").inner_text()
    assert [item.genus for item in made.items if item.genus not in worked] == []
    context.close()
