"""What must hold on every page: readable by all, without scripts, and without the internet."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import pytest

from browser.stations import LAPTOP, PHONE, Station

if TYPE_CHECKING:
    from playwright.sync_api import Browser

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
RUN = "only => axe.run(document, {runOnly: only})"
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]
PATHS = {
    "start": "/",
    "colony": "/colonies/{colony}",
    "states": "/colonies/{colony}/look/corallite_arrangement",
    "several": "/colonies/{colony}/look/corallite_arrangement?several=1",
    "size": "/colonies/{colony}/look/calice_diameter_mm",
    "photo": "/colonies/{colony}/photos/{photo}",
    "new": "/colonies/new",
    "colonies": "/colonies?status=open",
    "genera": "/genera",
    "genus": "/genera/Favites",
    "beside": "/genera/compare?a=Favites&b=Goniastrea&c=Platygyra",
    "names": "/genera/names?name=Favia",
    "weak": "/genera/weak",
    "differences": "/genera/differences",
    "edit": "/genera/Favites/edit?character=growth_form",
    "field-paper": "/genera/paper",
    "readings": "/readings",
    "reading": "/readings/{reading}",
    "programme": "/programme",
    "hand-on": "/programme/files?survey={after}",
    "history": "/programme/history",
    "redetermine": "/programme/redetermine",
    "pair": "/pair",
    "practice": "/practice",
    "set": "/practice/{set}",
    "item": "/practice/{set}/items/1",
    "worked": "/practice/{set}/items/1/worked?of={person}",
    "projector": "/practice/{set}/show?item=2",
    "projector-answers": "/practice/{set}/show?item=2&answers=1",
    "paper": "/practice/{set}/paper",
    "answer-sheet": "/practice/{set}/paper?answers=1",
    "observers": "/observers",
    "observer": "/observers/{person}",
    "tests": "/observers/tests",
    "test": "/observers/tests/{test}",
    "surveys": "/surveys",
    "survey": "/surveys/{after}",
    "survey-new": "/surveys/new?like={after}",
    "slate": "/slates/{slate}",
    "slate-type": "/surveys/{after}/transects/{transect}",
    "slate-mend": "/slates/{slate}/mend",
    "flags": "/surveys/{after}/flags",
    "record-readings": "/surveys/{after}/readings",
    "photo-points": "/transects/{framed}/points?at=2",
    "dive-sheets": "/surveys/{after}/sheets?which=all",
    "import": "/surveys/{after}/import",
    "results": "/results",
    "result": "/results/{after}",
    "result-errors": "/results/{after}?errors=1",
    "result-site": "/results/{after}?site={struck}",
    "behind": "/results/{after}/behind?group=Acropora",
    "diversity": "/results/{after}/diversity",
    "sizes": "/results/{after}/sizes",
    "change": "/results/change?before={before}&after={after}",
    "effort": "/results/{after}/effort?half_width=2&group=Acropora",
    "nothing": "/no-such-page",
}


def survey_ids(database: sqlite3.Connection) -> dict[str, object]:
    """Return both rounds of the survey, and a site of theirs."""
    found = {
        when: database.execute(
            "SELECT id FROM event WHERE kind = 'survey' AND name LIKE ?", (f"{when}%",)
        ).fetchone()[0]
        for when in ("Before", "After")
    }
    visit = "SELECT site FROM event WHERE kind = 'visit' AND parent = ?"
    site = database.execute(visit, (found["After"],)).fetchone()[0]
    return {
        "before": found["Before"], "after": found["After"], "struck": site,
        **slate_ids(database, found["After"]),
    }  # fmt: skip


def slate_ids(database: sqlite3.Connection, survey: str) -> dict[str, object]:
    """Return a slate and a transect of a survey, and a transect read by photo points."""
    read = "SELECT history, transect FROM slate WHERE survey = ? ORDER BY history DESC"
    slate, transect = database.execute(read, (survey,)).fetchone()
    framed = database.execute("SELECT transect FROM frame_photo").fetchone()[0]
    return {"slate": slate, "transect": transect, "framed": framed}


def path_of(station: Station, name: str) -> str:
    """Fill in a colony with a photo, a reading that waits, a practice set and an observer."""
    with sqlite3.connect(f"file:{station.folder}/corallum.db?mode=ro", uri=True) as database:
        colony, photo = database.execute("SELECT colony, photo FROM colony_photo").fetchone()
        reading = database.execute(
            "SELECT history FROM reading_request WHERE history NOT IN "
            "(SELECT request FROM reading_answer)"
        ).fetchone()[0]
        practice = database.execute("SELECT id FROM practice_set WHERE purpose = 'pair'")
        person = database.execute("SELECT id FROM person WHERE name = 'Observer 3'")
        test = database.execute("SELECT practice_set FROM qualification")
        ids = {"set": practice.fetchone()[0], "person": person.fetchone()[0],
               "test": test.fetchone()[0], **survey_ids(database)}  # fmt: skip
    database.close()
    return PATHS[name].format(colony=colony, photo=photo, reading=reading, **ids)


@pytest.mark.parametrize(
    "device", [pytest.param(PHONE, id="phone"), pytest.param(LAPTOP, id="laptop")]
)
@pytest.mark.parametrize("name", PATHS)
def test_no_barrier_is_found(
    browser: Browser, demo: Station, name: str, device: dict[str, Any]
) -> None:
    """The checker of WCAG 2.1 AA finds nothing, at both sizes and in the colours of both themes."""
    context = browser.new_context(**device, color_scheme="light")
    page = context.new_page()
    page.goto(demo.url + path_of(demo, name))
    page.evaluate(AXE)

    # Of its rules only that on contrast can tell the themes apart.
    light = page.evaluate(RUN, {"type": "tag", "values": WCAG})
    page.emulate_media(color_scheme="dark")
    dark = page.evaluate(RUN, {"type": "rule", "values": ["color-contrast"]})
    context.close()

    told = [(one["id"], [node["html"][:120] for node in one["nodes"]][:3])
            for one in light["violations"] + dark["violations"]]  # fmt: skip
    assert told == []
    assert len(light["passes"]) > 5
    assert len(dark["passes"]) == 1


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_switch_wins_over_the_machine(browser: Browser, demo: Station, theme: str) -> None:
    """A chosen theme holds on a machine that is set the other way."""
    other = "dark" if theme == "light" else "light"
    page = browser.new_context(**LAPTOP, color_scheme=other).new_page()
    page.goto(demo.url)

    page.get_by_role("button", name=theme.capitalize(), exact=True).click()
    page.wait_for_selector(f'html[data-theme="{theme}"]')

    red = page.evaluate("getComputedStyle(document.body).backgroundColor.match(/\\d+/)[0]")
    assert (int(red) > 128) == (theme == "light")


@pytest.mark.parametrize("name", PATHS)
def test_nothing_is_asked_of_another_host(browser: Browser, demo: Station, name: str) -> None:
    """A page loads all it needs from the station, and breaks no rule of its own policy."""
    context = browser.new_context(**LAPTOP)
    page = context.new_page()
    hosts, problems = set(), []
    page.on("request", lambda request: hosts.add(urlsplit(request.url).netloc))
    page.on("console", lambda message: problems.append(message.text))
    page.on("pageerror", lambda error: problems.append(str(error)))

    page.goto(demo.url + path_of(demo, name), wait_until="networkidle")
    context.close()

    assert hosts == {urlsplit(demo.url).netloc}
    assert [text for text in problems if "404" not in text] == []


@pytest.mark.parametrize("name", PATHS)
def test_a_page_fits_a_phone_and_its_targets_a_thumb(
    browser: Browser, demo: Station, name: str
) -> None:
    """At 390 wide nothing runs off the side, and every button, field and list link is 44 high."""
    context = browser.new_context(**PHONE)
    page = context.new_page()
    page.goto(demo.url + path_of(demo, name))

    wide = page.evaluate("document.documentElement.scrollWidth")
    small = page.evaluate(
        """() => [...document.querySelectorAll(
             'button, select, summary, input:not([type=hidden]), textarea, nav a, ' +
             '.button, .chip, .tap, .line a, .next, a.open')]
          .filter(e => e.offsetParent !== null)
          .map(e => [e.closest('label') || e, e])
          .map(([hit, e]) => [hit.getBoundingClientRect(), e.outerHTML.slice(0, 90)])
          .filter(([box]) => box.height < 43.5 || box.width < 43.5)
          .map(([box, html]) => html)"""
    )
    context.close()

    assert wide <= 390
    assert small == []


@pytest.mark.parametrize("name", PATHS)
def test_a_page_reads_without_scripts(browser: Browser, demo: Station, name: str) -> None:
    """With scripts off the heading and the text are there, and pictures too."""
    context = browser.new_context(**LAPTOP, java_script_enabled=False)
    page = context.new_page()
    page.goto(demo.url + path_of(demo, name))

    heading = page.locator("h1").inner_text()
    text = page.locator("main").inner_text()
    context.close()

    assert heading
    assert len(text) > 60


def test_a_state_can_be_reported_without_scripts(browser: Browser, station: Station) -> None:
    """With scripts off, links and buttons alone report a state and show the answer."""
    page = browser.new_context(**LAPTOP, java_script_enabled=False).new_page()
    page.goto(station.url)

    page.get_by_role("button", name="New colony").click()
    page.locator('a[href*="/look/corallite_arrangement#look"]').first.click()
    page.locator('button.state[value="meandroid"]').click()

    assert "meandroid" in page.locator(".seen .items").inner_text()
    assert page.locator(".odds tbody tr").count() > 2
