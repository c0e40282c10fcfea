"""What the pages hand out: reports, sheets, the page for a phone, archives, maps and tables."""

from __future__ import annotations

import asyncio
import io
import json
import os
import re
import tempfile
import zipfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import Any

import pypdf
import pytest
from starlette.testclient import TestClient

from corallum.actions.export_colonies import ExportColonies, export_colonies
from corallum.actions.export_places import ExportPlaces, export_places
from corallum.actions.export_survey import ExportSurvey, export_survey
from corallum.actions.export_tables import ExportTables, export_tables
from corallum.actions.observer_report import observer_report
from corallum.actions.people import get_person
from corallum.actions.practice_sheets import MakePracticeSheets, make_practice_sheets
from corallum.actions.recording_sheets import MakeRecordingSheets, make_recording_sheets
from corallum.actions.survey_findings import SurveyQuestion
from corallum.actions.survey_report import survey_report
from corallum.exchange.coordinates import EXACT, WITHHELD, parse_coordinate_rule
from corallum.report.report_html import report_html
from corallum.report.report_pdf import report_pdf
from corallum.web import field_paper
from corallum.web.app import create_app
from corallum.web.downloads import made_file
from corallum.web.long_work import LongWork, outcome
from invented import NOW
from surveyed import Surveyed, make_surveys
from web.long_task import who_did_it
from web.opened import LOCAL, OWN

DAY = NOW.replace(hour=0, minute=0)
NAME = re.compile(r'attachment; filename="[a-z0-9-]+\.(pdf|html|zip|geojson)"')


@dataclass
class Reef:
    """Invented surveys and a colony, and a client of their pages; its clock stands still."""

    surveys: Surveyed
    client: TestClient

    @property
    def programme(self) -> Any:  # noqa: ANN401  a programme
        """The programme."""
        return self.surveys.team.programme

    def be(self, person: str) -> None:
        """Choose who is at the machine."""
        self.client.post("/person", data={"person": person})

    def file(self, path: str, form: dict[str, str] | None = None, **asked: str) -> bytes:
        """Return a file that is handed out, under a name that every machine takes."""
        if form is None:
            answer = self.client.get(path, params=asked or None)
        else:
            answer = self.client.post(path, data=form)
        assert answer.status_code == 200, (path, answer.text[-500:])
        assert NAME.fullmatch(answer.headers["content-disposition"])
        assert answer.headers["cache-control"] == "no-store"
        return bytes(answer.content)

    def refusal(self, path: str, form: dict[str, str] | None = None, **asked: str) -> list[Any]:
        """Return the status of a refusal, and its sentences."""
        if form is None:
            answer = self.client.get(path, params=asked or None)
        else:
            answer = self.client.post(path, data=form)
        assert "content-disposition" not in answer.headers
        told = re.findall(r'<p class="fault">(.*?)</p>', answer.text)
        box = re.search(r'<div class="fault".*?</div>', answer.text, re.DOTALL)
        told += re.findall(r"<li>(.*?)</li>", box.group()) if box else []
        return [answer.status_code, *(unescape(one) for one in told)]


@pytest.fixture(scope="module")
def reef(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reef]:
    """Open surveys that were read again, and one colony; nothing here writes to them."""
    made = make_surveys(tmp_path_factory.mktemp("reef") / "p")
    made.team.colony()
    app = create_app(made.team.programme, clock=lambda: NOW)
    client = TestClient(app, base_url=LOCAL, headers=OWN, raise_server_exceptions=False)
    yield Reef(made, client)
    made.team.programme.close()


@pytest.fixture(autouse=True)
def left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give temporary files a folder of their own, which must be empty after every test."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    yield folder
    assert list(folder.iterdir()) == []


@pytest.fixture
def lead(reef: Reef) -> Reef:
    """Be a lead at the machine."""
    reef.be(reef.surveys.team.lead)
    return reef


def words(page: str) -> str:
    """Return what a page says."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", "", page)))


def test_a_survey_report_is_what_its_action_makes(lead: Reef) -> None:
    """PDF and page are those of the action for the question of the page, to the byte."""
    survey = lead.surveys.before
    report = survey_report(lead.programme, SurveyQuestion(survey, by="family"), NOW)

    pdf = lead.file(f"/results/{survey}/report.pdf", by="family")
    page = lead.file(f"/results/{survey}/report.html", by="family")

    assert pdf == report_pdf(report, NOW)
    assert page == report_html(report).encode()


@pytest.mark.parametrize("errors", ["", "1"])
def test_a_report_says_the_sentence_of_its_page(lead: Reef, errors: str) -> None:
    """The links of a page lead to a report with its first sentence, figures and all."""
    page = lead.client.get(f"/results/{lead.surveys.before}", params={"errors": errors}).text
    links = [unescape(one) for one in re.findall(r'href="([^"]*/report\.[^"]*)"', page)]
    said = re.search(r'<p class="sentence">(.*?)</p>', page)
    shown = re.findall(r'<span class="num">([\d.]+)</span>', page)[:6]

    told = words(lead.file(links[1]).decode())

    assert [one.partition("?")[0][-4:] for one in links] == [".pdf", "html"]
    assert said is not None
    assert words(said.group(1)) in told
    assert len(shown) == 6
    assert all(figure in told for figure in shown)


def test_a_report_of_a_change_is_asked_from_its_page(lead: Reef) -> None:
    """From the page of a change the report compares the same surveys, with the same decline."""
    asked = {"before": lead.surveys.before, "after": lead.surveys.after, "fall": "10"}
    page = lead.client.get("/results/change", params=asked).text
    links = [unescape(one) for one in re.findall(r'href="([^"]*/report\.html[^"]*)"', page)]
    question = SurveyQuestion(lead.surveys.after, lead.surveys.before, fall=0.1)

    assert lead.file(links[0]) == report_html(survey_report(lead.programme, question, NOW)).encode()


def test_a_wrong_question_for_a_report_is_one_sentence(lead: Reef) -> None:
    """What a report can't be asked is answered by a sentence that says what it can."""
    url = f"/results/{lead.surveys.before}/report.pdf"

    assert lead.refusal(url, by="form") == [
        422, "report, by: expected genus or family, found 'form'. Choose one."
    ]  # fmt: skip
    assert lead.refusal(url, fall="200") == [
        422, "report, decline: expected 0 to 99 percent, found '200'. Write 20 for a fifth."
    ]  # fmt: skip
    assert lead.refusal(url, against=lead.surveys.before) == [
        422, "against: expected another survey, found the same. Name an earlier one."
    ]  # fmt: skip
    assert lead.refusal(url, against="nothing")[0] == 404
    assert lead.refusal(f"/results/{lead.surveys.before}/report.doc")[0] == 404
    assert lead.refusal("/results/nothing/report.pdf")[0] == 404


def test_an_observers_report_is_seen_by_whoever_sees_the_page(reef: Reef) -> None:
    """It goes to the observer and to a lead, and to nobody else."""
    team = reef.surveys.team
    url = f"/observers/{team.observer}/report.html"
    found = observer_report(reef.programme, get_person(reef.programme, team.observer), NOW)
    expected = report_html(found).encode()

    for person in (team.lead, team.observer):
        reef.be(person)
        assert reef.file(url) == expected
    for person in (team.second, team.reader):
        reef.be(person)
        for one in (url, f"/observers/{team.observer}/report.pdf"):
            assert reef.refusal(one)[0] == 403


def test_a_report_of_the_reference_is_of_the_region_asked_for(lead: Reef) -> None:
    """It is the page of the action for that region, with its own seed and no other."""
    page = words(lead.file("/genera/report.html", region="eastern_pacific").decode())

    assert "The reference" in page
    assert "corallum report FOLDER --reference --region eastern_pacific --seed 1" in page
    assert lead.refusal("/genera/report.pdf", region="moon")[0] == 422


def test_a_field_sheet_is_made_once(lead: Reef, monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked for a second time it is there at once; something else that is long has to wait."""
    monkeypatch.setattr(field_paper, "_COLONIES", 40)
    form = {"region": "eastern_pacific", "paper": "a5", "pages": "1"}
    busy = lead.client.app.state.long_work._busy  # type: ignore[attr-defined]

    pdf = lead.file("/genera/paper/sheet", form)
    with busy:
        again = lead.file("/genera/paper/sheet", form)
        other = lead.refusal("/genera/paper/sheet", {**form, "pages": "2"})
        practice = lead.refusal("/genera/paper/practice", {"items": "3", "paper": "a5"})

    read = pypdf.PdfReader(io.BytesIO(pdf))
    assert len(read.pages) == 1
    assert [round(float(side) * 25.4 / 72) for side in read.pages[0].mediabox[2:]] == [148, 210]
    text = " ".join(read.pages[0].extract_text().split())
    assert "Invented reserve" in text
    assert "Pocillopora" in text
    assert again == pdf
    assert other[0] == practice[0] == 409
    assert "Wait half a minute" in other[1]


def test_a_wrong_wish_for_a_sheet_is_one_sentence(lead: Reef) -> None:
    """A choice that is none is told beside the form, in words of the page."""
    url = "/genera/paper"

    assert lead.refusal(f"{url}/sheet", {"paper": "a9"}) == [
        422, "paper: expected one of a4, a5, letter, found 'a9'. Use one of these words."
    ]  # fmt: skip
    assert lead.refusal(f"{url}/sheet", {"pages": "1.5"}) == [
        422, "pages: expected a whole number from 1 to 4, found '1.5'. Mend it."
    ]  # fmt: skip
    assert lead.refusal(f"{url}/sheet", {"region": "moon"})[0] == 422
    assert lead.refusal(f"{url}/practice", {"items": "61"}) == [
        422, "colonies: expected a whole number from 1 to 60, found '61'. Mend it."
    ]  # fmt: skip


def test_long_work_is_done_in_a_process_of_its_own(reef: Reef) -> None:
    """Another process opens the same programme, does it and sends it back."""
    made = LongWork(apart=True).make(reef.programme, who_did_it, "asked")

    name, asked, process = made.decode().split("|")
    assert (name, asked) == ("Invented reserve", "asked")
    assert int(process) != os.getpid()


def test_why_long_work_failed_comes_back_as_words(reef: Reef) -> None:
    """A process sends sentences, since not every error can be sent."""
    wish = MakePracticeSheets("red_sea", 99)

    made, why = outcome(reef.programme.folder, field_paper.practice_file, (wish, DAY))

    assert made == b""
    assert "a whole number from 1 to 60" in why


def test_practice_on_paper_is_of_the_day(lead: Reef) -> None:
    """The sheets are those that the action draws with the day as its seed."""
    wish = MakePracticeSheets("red_sea", 1, seed=DAY.toordinal(), answers=False)

    pdf = lead.file("/genera/paper/practice", {"items": "1"})

    assert pdf == make_practice_sheets(lead.programme, wish, DAY).pdf


def test_the_page_for_a_phone_is_handed_out(lead: Reef) -> None:
    """It is one file of HTML, made for this programme, that asks for nothing else."""
    page = lead.file("/genera/paper/phone").decode()

    assert page.startswith("<!doctype html>")
    assert "Invented reserve" in page
    assert "default-src 'none'" in page


def test_recording_sheets_are_of_the_planned_transects(lead: Reef) -> None:
    """The PDF has a sheet for each transect that has no slate, or for all."""
    written, empty = (f"/surveys/{one}/sheets" for one in (lead.surveys.after, lead.surveys.empty))
    all_ = MakeRecordingSheets(survey=lead.surveys.after, paper="a5", again=True)

    pdf = lead.file(f"{written}/recording.pdf", paper="a5", which="all")
    left = lead.file(f"{empty}/recording.pdf")
    none = lead.refusal(f"{written}/recording.pdf")
    wrong = lead.refusal(f"{written}/recording.pdf", paper="a9", which="all")

    assert pdf == make_recording_sheets(lead.programme, all_, NOW).pdf
    assert len(pypdf.PdfReader(io.BytesIO(left)).pages) >= 8
    assert none == [409, "every transect has a slate. Go back and choose all transects."]
    assert wrong[0] == 422
    assert f"{written}/recording.pdf" in lead.client.get(written).text


FORM = {"coordinates": "exact", "licence": "CC0-1.0", "creators": "A. Invented\r\n\r\nB. Invented"}


def test_archives_are_what_their_actions_make(lead: Reef, tmp_path: Path) -> None:
    """A survey and the colonies come as the zips of their actions, to the byte."""
    creators, survey = ("A. Invented", "B. Invented"), lead.surveys.before
    rule = parse_coordinate_rule("0.1")
    of_survey = ExportSurvey(survey, tmp_path / "s.zip", EXACT, creators, "CC0-1.0", photos=True)
    export_survey(lead.programme, of_survey, NOW)
    export_colonies(lead.programme, ExportColonies(tmp_path / "c.zip", rule), NOW)

    one = lead.file("/programme/files/archive", {**FORM, "data": survey, "photos": "1"})
    other = lead.file("/programme/files/archive", {"coordinates": "0.1", "figures": "1"})

    assert one == (tmp_path / "s.zip").read_bytes()
    assert other == (tmp_path / "c.zip").read_bytes()


def test_an_archive_has_figures_where_they_are_wished(lead: Reef) -> None:
    """With the box ticked the figures of a survey are among its measurements."""
    found = []
    for figures in ("", "1"):
        form = {"data": lead.surveys.belt, "figures": figures}
        data = lead.file("/programme/files/archive", form)
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            texts = [archive.read(one).decode() for one in archive.namelist()]
        found.append(any("density of Porites, as said" in text for text in texts))

    assert found == [False, True]


@pytest.mark.parametrize("people", ["number", "name"])
def test_tables_are_what_their_action_makes(lead: Reef, tmp_path: Path, people: str) -> None:
    """Everything comes as one zip, people by number or by name."""
    named = people == "name"
    export_tables(lead.programme, ExportTables(tmp_path / "t.zip", WITHHELD, named))

    found = lead.file("/programme/files/tables", {"coordinates": "withheld", "people": people})

    assert found == (tmp_path / "t.zip").read_bytes()


def test_maps_are_what_their_action_makes(lead: Reef) -> None:
    """The programme and a survey come as GeoJSON, positions rounded unless told otherwise."""
    survey = lead.surveys.belt
    rounded = ExportPlaces(parse_coordinate_rule("0.01"))

    whole = lead.file("/programme/files/map", {})
    part = lead.file("/programme/files/map", {"data": survey, "coordinates": "exact"})

    assert whole.decode() == export_places(lead.programme, rounded).text
    assert part.decode() == export_places(lead.programme, ExportPlaces(survey=survey)).text
    told = {one["properties"].get("survey") for one in json.loads(part)["features"]}
    assert len(told - {None}) == 1


def test_only_a_lead_hands_data_on(reef: Reef) -> None:
    """An observer and a reader are refused, and not shown the way."""
    team, survey = reef.surveys.team, reef.surveys.before
    for person in (team.observer, team.reader):
        reef.be(person)
        assert reef.refusal("/programme/files")[0] == 403
        for path in ("archive", "map", "tables"):
            assert reef.refusal(f"/programme/files/{path}", {"coordinates": "exact"})[0] == 403
        for page in ("/programme", "/colonies", f"/surveys/{survey}"):
            assert "/programme/files" not in reef.client.get(page).text
    reef.be(team.lead)
    for page in ("/programme", "/colonies", f"/surveys/{survey}"):
        assert "/programme/files" in reef.client.get(page).text


def test_a_wrong_wish_for_data_is_one_sentence(lead: Reef) -> None:
    """What was chosen and typed stays, and one sentence says what is wrong."""
    url, typed = "/programme/files", {**FORM, "creators": "A. Invented"}

    answer = lead.client.post(f"{url}/archive", data={**typed, "licence": "mine"})

    assert answer.status_code == 422
    assert "A. Invented" in answer.text
    assert '<option value="exact" selected>' in answer.text
    assert lead.refusal(f"{url}/map", {"coordinates": "2"}) == [
        422, "positions: expected one of exact, 0.001, 0.01, 0.1, 1, withheld, found '2'. "
        "Use one of these words.",
    ]  # fmt: skip
    assert lead.refusal(f"{url}/tables", {"people": "faces"})[0] == 422
    assert lead.refusal(f"{url}/archive", {"creators": "a\x00b"})[0] == 422
    assert lead.refusal(f"{url}/archive", {"data": "nothing"})[0] == 404
    assert lead.refusal(url, survey="nothing")[0] == 404


def test_no_path_of_this_machine_is_told(left: Path) -> None:
    """A file that can't be written is refused without saying where, and nothing is left."""

    def no_room(target: Path) -> None:
        (target.parent / "part").write_text("half of it")
        target.mkdir()
        export_tables(None, ExportTables(target))  # type: ignore[arg-type]  # refused before it is read

    with pytest.raises(Exception, match="the file: expected a disk that takes it") as caught:
        made_file(no_room, "application/zip", "a.zip")

    assert str(left) not in str(caught.value)
    assert list(left.iterdir()) == []


def test_a_file_is_gone_though_the_reader_went_away(left: Path) -> None:
    """A connection that breaks while a file is sent leaves nothing behind."""
    response = made_file(lambda target: target.write_bytes(b"x" * 100), "application/zip", "a.zip")
    assert len(list(left.iterdir())) == 1

    async def send(message: object) -> None:
        raise OSError(f"the reader went away before {message}")

    async def receive() -> dict[str, str]:
        return {"type": "http.disconnect"}

    scope = {"type": "http", "method": "POST", "headers": []}
    # A thread of its own: where a browser runs, this one has a loop already.
    sending = response(scope, receive, send)  # type: ignore[arg-type]
    with ThreadPoolExecutor(1) as pool, pytest.raises(OSError, match="went away"):
        pool.submit(asyncio.run, sending).result()

    assert list(left.iterdir()) == []
