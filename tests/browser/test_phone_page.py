"""The page for a phone: from its file, without a network, with a thumb, and into a programme."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from browser.hands import tab_to, thumb
from browser.stations import LAPTOP, PHONE
from corallum.actions.colony_lists import ColonyFilter, get_colony, list_colonies
from corallum.actions.people import AddPerson, add_person
from corallum.actions.phone_import import ImportPhone, import_phone
from corallum.actions.phone_sheet import phone_sheet
from corallum.actions.places import AddSite, add_site
from corallum.records.colony import SizeReport, StateReport
from corallum.report.phone_page import MOST_BYTES
from invented import Team

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]
RUN = "only => axe.run(document, {runOnly: only})"
SMALL = """() => [...document.querySelectorAll(
    'button, select, summary, input, textarea, nav a, .button, .chip, .tap, .line a, .next, .open')]
  .filter(e => e.offsetParent !== null)
  .map(e => [(e.closest('label') || e).getBoundingClientRect(), e.outerHTML.slice(0, 90)])
  .filter(([box]) => box.height < 43.5 || box.width < 43.5).map(([box, html]) => html)"""


@pytest.fixture
def reserve(tmp_path: Path) -> Iterator[Team]:
    """A programme with a site."""
    found = Team(tmp_path / "programme")
    add_site(found.programme, AddSite("North wall", "red_sea"), *found.by(found.lead))
    yield found
    found.programme.close()


@pytest.fixture
def phone_file(reserve: Team, tmp_path: Path) -> Path:
    """The page of that programme, as a file."""
    path = tmp_path / "reserve.html"
    path.write_text(phone_sheet(reserve.programme), encoding="utf-8")
    return path


@pytest.fixture
def page(browser: Browser, phone_file: Path) -> Iterator[Page]:
    """The file, opened on a phone that has no network; whatever it asks or complains of is kept."""
    context = browser.new_context(**PHONE, offline=True, color_scheme="light")
    found = context.new_page()
    found.set_default_timeout(15_000)
    asked: list[str] = []
    found.on("request", lambda request: asked.append(request.url))
    found.on("console", lambda message: asked.append(f"console: {message.text}"))
    found.on("pageerror", lambda error: asked.append(f"error: {error}"))
    start(found, phone_file)
    yield found
    context.close()
    assert [url for url in asked if not url.startswith((phone_file.as_uri(), "blob:"))] == []


def start(page: Page, file: Path, where: str = "") -> None:
    """Open the page and wait until it is unpacked."""
    page.goto("about:blank")
    page.goto(file.as_uri() + where)
    page.wait_for_selector("html[data-ready]")


def look_of(page: Page, character: str) -> Locator:
    """Find the link to a character, opening the list of all where it is not in view."""
    link = page.locator(f'.next[href$="/{character}"]')
    if link.count():
        return link
    if not page.locator("details.all").get_attribute("open"):
        thumb(page, page.locator("details.all summary"))
    return page.locator(f'details.all a[href$="/{character}"]')


def report(page: Page, character: str, state: str) -> None:
    """Report a state by taps."""
    thumb(page, look_of(page, character))
    page.wait_for_selector("#look")
    thumb(page, page.locator(f'button.state[value="{state}"]'))
    page.wait_for_selector("#look", state="detached")


def measure(page: Page, value: str, n: str) -> None:
    """Report a calice diameter by ruler."""
    thumb(page, look_of(page, "calice_diameter_mm"))
    page.fill("#value", value)
    page.fill("#n", n)
    thumb(page, page.locator("label.check", has_text="with a ruler"))
    thumb(page, page.locator("#keep"))
    page.wait_for_selector("#look", state="detached")


def several(page: Page, character: str, *states: str) -> None:
    """Report that it is one of several states, and not sure."""
    thumb(page, look_of(page, character))
    thumb(page, page.locator("label.check", has_text="I am not sure"))
    thumb(page, page.locator("#several"))
    for state in states:
        thumb(page, page.locator(f'button.state[value="{state}"]'))
    thumb(page, page.locator("#keep"))
    page.wait_for_selector("#look", state="detached")


def write(page: Page, field: str, text: str) -> None:
    """Fill in a field of the record."""
    page.fill(f"#{field}", text)
    page.locator(f"#{field}").dispatch_event("change")


def a_colony(page: Page) -> None:
    """Start a colony and say everything that a record may hold."""
    thumb(page, page.locator("#new"))
    page.wait_for_selector("[data-said]")
    report(page, "growth_form", "massive")
    several(page, "corallite_arrangement", "plocoid", "cerioid")
    measure(page, "7,5", "5")
    report(page, "columella", "spongy")
    thumb(page, page.locator("#cond-shaded"))
    write(page, "name", "tag 14")
    write(page, "site", "North wall")
    write(page, "observer", "Observer 1")
    page.fill("#note", "Under the second overhang.\nTwo more beside it.")
    thumb(page, page.get_by_role("button", name="Add the note"))


def saved(page: Page) -> str:
    """Save all records as a file and return what is in it."""
    thumb(page, page.get_by_role("link", name="All colonies"))
    with page.expect_download() as download:
        thumb(page, page.locator("#save-all"))
    return Path(download.value.path()).read_text(encoding="utf-8")


def test_a_colony_is_named_by_thumb_and_kept(page: Page, phone_file: Path) -> None:
    """Start, add what was seen, read the answer; after a restart the record is still there."""
    a_colony(page)
    sentence = page.locator("[data-said]").inner_text()
    start(page, phone_file)
    assert page.locator(".line").count() == 1

    thumb(page, page.locator(".line a"))
    page.wait_for_selector("[data-said]")

    assert page.locator("[data-said]").inner_text() == sentence
    assert "Dipsastraea" in page.locator(".odds").inner_text()
    seen = page.locator(".items").inner_text()
    for text in ("massive", "plocoid or cerioid", "unsure", "7.5 mm, 5 measured, with a ruler"):
        assert text in seen
    for heading in ("Look next", "Why", "How far looking can go", "Take care"):
        assert page.locator("h2", has_text=heading).count() == 1
    assert "Look, do not touch" in page.locator(".cautions").inner_text()
    assert page.locator("#cond-shaded").get_attribute("aria-pressed") == "true"


def test_what_was_seen_is_taken_back_and_changed(page: Page) -> None:
    """A report is changed or taken back from the list, and the log keeps all that was said."""
    a_colony(page)
    thumb(page, page.locator('.open[href$="/columella"]'))
    thumb(page, page.locator("#take-back"))
    page.wait_for_selector("#look", state="detached")
    thumb(page, page.locator('.open[href$="/growth_form"]'))
    thumb(page, page.locator('button.state[value="encrusting"]'))
    page.wait_for_selector("#look", state="detached")

    kept = json.loads(saved(page))

    assert "columella" not in kept["observations"]
    assert kept["observations"]["growth_form"] == {"state": ["encrusting"], "sure": True}
    told = [(one["subject"], one["value"]) for one in kept["record"]["log"]]
    assert ("columella", {"state": ["spongy"], "sure": True}) in told
    assert told.index(("columella", None)) > told.index(
        ("growth_form", {"state": ["massive"], "sure": True})
    )


def test_a_size_out_of_bounds_is_refused(page: Page) -> None:
    """A size that the reference calls impossible is not kept, and the field says why."""
    thumb(page, page.locator("#new"))
    thumb(page, look_of(page, "calice_diameter_mm"))
    page.fill("#value", "7000")
    thumb(page, page.locator("#keep"))

    assert "from 0.05 to 500 mm" in page.locator("#look .fault").inner_text()
    assert page.locator(".items li").count() == 0


def test_a_saved_file_is_determined(page: Page, tmp_path: Path) -> None:
    """`corallum determine` reads the file, and answers what the phone showed."""
    a_colony(page)
    text = saved(page)
    file = tmp_path / "saved.jsonl"
    file.write_text(text, encoding="utf-8")

    done = subprocess.run(
        [sys.executable, "-m", "corallum.cli", "determine", str(file), "--json"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip

    answer, shown = json.loads(done.stdout), json.loads(text)["record"]["shown"][-1]
    assert answer["id"] == "tag 14"
    assert answer["reference"] == shown["reference"]
    assert {**answer["verdict"], "probability": 0} == {**shown["verdict"], "probability": 0}
    assert answer["verdict"]["probability"] == pytest.approx(
        shown["verdict"]["probability"], abs=1e-9
    )


def test_a_saved_file_goes_into_the_programme(page: Page, reserve: Team) -> None:
    """Everything that the phone kept is in the programme's record, and a second time refused."""
    a_colony(page)
    text = saved(page)

    found = import_phone(reserve.programme, ImportPhone(text, "saved.jsonl"), *reserve.by())

    record = get_colony(reserve.programme, found.new[0].id)
    assert record.name == "tag 14"
    assert record.region == "red_sea"
    assert record.observer == reserve.observer
    assert record.site is not None
    assert record.conditions == ("shaded",)
    assert [note.report for note in record.notes] == [
        "Under the second overhang.\nTwo more beside it."
    ]
    assert {id_: entry.report for id_, entry in record.reports.items()} == {
        "growth_form": StateReport(("massive",)),
        "corallite_arrangement": StateReport(("plocoid", "cerioid"), sure=False),
        "calice_diameter_mm": SizeReport(7.5, 5, "ruler"),
        "columella": StateReport(("spongy",)),
    }
    kept = json.loads(text)["record"]
    assert record.current is not None
    assert record.current.reference_hash == kept["shown"][-1]["reference"]
    assert record.current.name == kept["shown"][-1]["verdict"]["name"]
    assert record.current.program == "phone page"
    assert (
        next(one for one in record.history if one.verb == "import phone").detail["record"] == kept
    )
    assert list_colonies(reserve.programme, ColonyFilter()).total == 1


def test_no_barrier_is_found(page: Page) -> None:
    """The checker of WCAG 2.1 AA finds nothing on any view, in the colours of both themes."""
    told = []
    a_colony(page)
    record = page.url.split("#")[1]
    page.evaluate(AXE)
    views = ("/", record, f"{record}/corallite_arrangement", f"{record}/calice_diameter_mm",
             "/genera", "/genera/Favites", "/print", "/colony/nothing")  # fmt: skip
    for view in views:
        page.evaluate("address => { location.hash = address; }", view)
        page.wait_for_timeout(50)
        light = page.evaluate(RUN, {"type": "tag", "values": WCAG})
        page.emulate_media(color_scheme="dark")
        dark = page.evaluate(RUN, {"type": "rule", "values": ["color-contrast"]})
        page.emulate_media(color_scheme="light")
        assert len(light["passes"]) > 5
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, view
        told += [(view, html) for html in page.evaluate(SMALL)]
        told += [(view, one["id"], one["nodes"][0]["html"][:120])
                 for one in light["violations"] + dark["violations"]]  # fmt: skip

    assert told == []


def test_the_page_works_by_keyboard(browser: Browser, phone_file: Path) -> None:
    """Without a pointer a colony is started and a state reported, and the focus is led along."""
    context = browser.new_context(**LAPTOP, offline=True)
    page = context.new_page()
    start(page, phone_file)

    tab_to(page, "#new")
    page.keyboard.press("Enter")
    tab_to(page, '.next[href$="/growth_form"]')
    page.keyboard.press("Enter")
    page.wait_for_selector("#look-h:focus")
    tab_to(page, 'button.state[value="massive"]')
    page.keyboard.press("Space")
    page.wait_for_selector("#look", state="detached")

    assert "massive" in page.locator(".items").inner_text()
    assert page.locator("#aloud").inner_text() == page.locator("[data-said]").inner_text()
    context.close()


def test_a_browser_that_keeps_nothing_says_so(browser: Browser, phone_file: Path) -> None:
    """Where storage is refused or full, the page works on and warns that nothing is kept."""
    context = browser.new_context(**PHONE, offline=True)
    context.add_init_script(
        "Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); };"
    )
    page = context.new_page()
    start(page, phone_file)
    a_colony(page)

    assert "keeps nothing" in page.locator("#notice").inner_text()
    assert json.loads(saved(page))["observations"]["growth_form"]["state"] == ["massive"]
    context.close()


def test_text_is_never_taken_for_markup(page: Page) -> None:
    """What is typed is shown as it was typed."""
    thumb(page, page.locator("#new"))
    write(page, "name", "<img src=x onerror=alert(1)>")

    thumb(page, page.get_by_role("link", name="All colonies"))

    assert "<img src=x" in page.locator(".line").inner_text()
    assert page.locator(".line img").count() == 0


def test_a_removed_record_is_gone_after_a_second_tap(page: Page, phone_file: Path) -> None:
    """To remove a record takes two taps, and it stays removed."""
    thumb(page, page.locator("#new"))
    thumb(page, page.locator("#remove"))
    assert page.locator("[data-said]").count() == 1
    thumb(page, page.locator("#remove"))
    start(page, phone_file)

    assert page.locator(".line").count() == 0


def test_a_damaged_page_says_so(browser: Browser, phone_file: Path, tmp_path: Path) -> None:
    """A page that was cut off or altered on its way does not answer wrongly: it says so."""
    text = phone_file.read_text(encoding="utf-8")
    at = text.index('id="packed">') + 200_000
    broken = tmp_path / "broken.html"
    broken.write_text(text[:at] + "AAAA" + text[at + 4 :], encoding="utf-8")
    context = browser.new_context(**PHONE, offline=True)
    page = context.new_page()

    page.goto(broken.as_uri())
    page.wait_for_selector("main .fault")

    assert "damaged" in page.locator("main .fault").inner_text()
    context.close()


@pytest.mark.parametrize("region", [None, "red_sea", "atlantic"])
def test_a_page_is_small_and_for_its_region(reserve: Team, region: str | None) -> None:
    """A page stays under 3 MB, names its region, and holds nothing that could load anything."""
    text = phone_sheet(reserve.programme, region)

    assert len(text.encode()) < MOST_BYTES
    assert f"Made for {(region or 'red_sea').replace('_', ' ')}" in text
    for what in ("http://", "https://", "src=", "<link", "@import", "url(", "fetch(", "eval("):
        assert what not in text.replace("http://www.w3.org/2000/svg", "")


def test_a_page_changes_only_with_its_programme(reserve: Team) -> None:
    """A page is the same text each time it is made, until a person is added."""
    first = phone_sheet(reserve.programme)
    again = phone_sheet(reserve.programme)
    add_person(reserve.programme, AddPerson("Observer 9", "observer"), *reserve.by(reserve.lead))

    assert first == again
    assert phone_sheet(reserve.programme) != first
