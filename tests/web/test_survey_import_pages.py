"""Imports by the page: guessed, set right, looked at, then all or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from corallum.actions.survey_import import list_columns
from corallum.actions.survey_plans import get_survey
from web.survey_desk import Desk, open_desk, text_of

TABLE = """site,transect,date,observer,genus,from,to,depth
Inner reef,T1,2026-03-10,Observer 1,Porites,0,120,5
Inner reef,T1,2026-03-10,Observer 1,sand,120,200,5
Outer reef,T9,2026-03-10,Observer 2,blue coral,0,80,7
"""
ROLES = {"role.site": "site", "role.transect": "transect", "role.date": "date",
         "role.observer": "observer", "role.name": "genus", "role.from_cm": "from",
         "role.to_cm": "to", "role.depth": "depth"}  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Open a programme with two sites."""
    with open_desk(tmp_path / "p") as found:
        yield found


def token_of(page: str) -> str:
    """Return what a page keeps of the table that is looked at."""
    return page.split('name="token" value="')[1].split('"', maxsplit=1)[0]


def slates_of(desk: Desk, survey: str) -> int:
    """Count the slates of a survey."""
    return sum(map(len, get_survey(desk.team.programme, survey).slates.values()))


def test_a_table_is_mended_and_then_imported_whole(desk: Desk) -> None:
    """A fault is told with nothing written; with a meaning given the same table goes in."""
    survey = desk.plan().event.id
    url = f"/surveys/{survey}/import"
    files = {"file": ("reef.csv", TABLE.encode(), "text/csv")}

    first = desk.client.post(url, data={"do": "look"}, files=files)
    assert first.status_code == 422
    assert "row 4, genus" in text_of(first.text)
    token = token_of(first.text)
    typed = {**ROLES, "token": token, "meanings": "blue coral = Heliopora", "keep_as": "Ours"}
    second = desk.client.post(url, data={**typed, "do": "look"})
    assert slates_of(desk, survey) == 0
    told = text_of(second.text)
    assert "2 slates with 3 lines; 1 transect is new" in told
    assert "blue coral Heliopora 1" in told
    third = desk.client.post(url, data={**typed, "do": "import"})

    assert third.url.path == f"/surveys/{survey}"
    assert slates_of(desk, survey) == 2
    assert len(get_survey(desk.team.programme, survey).transects) == 5
    assert [one.name for one in list_columns(desk.team.programme)] == ["Ours"]


def test_columns_are_guessed_from_their_headers(desk: Desk) -> None:
    """A pasted table comes back with the column of each role chosen."""
    survey = desk.plan().event.id

    page = desk.client.post(f"/surveys/{survey}/import", data={"text": TABLE}).text

    for role in ("site", "transect", "date", "observer", "from_cm", "to_cm", "depth"):
        chosen = page.split(f'name="role.{role}"')[1].split("</select>")[0]
        assert "selected" in chosen, role
    named = page.split('name="role.name"')[1].split("</select>")[0]
    assert '<option value="genus" selected>' in named


def test_nothing_that_was_set_is_lost_by_a_fault(desk: Desk) -> None:
    """Roles, units, dates, meanings and the name stay as they were set, faults listed."""
    survey = desk.plan().event.id
    url = f"/surveys/{survey}/import"
    token = token_of(desk.client.post(url, data={"text": TABLE}).text)
    typed = {**ROLES, "token": token, "length_unit": "in", "dates": "excel",
             "meanings": "no sign here\nx = Porites", "keep_as": "Ours", "role.to_cm": "",
             "do": "look"}  # fmt: skip

    answer = desk.client.post(url, data=typed)

    told = text_of(answer.text)
    assert answer.status_code == 422
    assert "meanings, line 1" in told
    assert "columns: expected" in told
    assert "no sign here\nx = Porites" in answer.text
    assert '<option value="excel" selected>' in answer.text
    assert "<option selected>in</option>" in answer.text
    assert 'name="keep_as" value="Ours"' in answer.text


def test_a_mended_file_keeps_the_settings(desk: Desk) -> None:
    """Another file beside the token replaces the table, with the columns as they were set."""
    survey = desk.plan().event.id
    url = f"/surveys/{survey}/import"
    table = TABLE.replace("genus", "what was it")
    token = token_of(desk.client.post(url, data={"text": table}).text)
    typed = {**ROLES, "role.name": "what was it", "token": token, "do": "look"}
    files = {"file": ("b.csv", table.replace("blue coral", "Heliopora").encode(), "text/csv")}

    answer = desk.client.post(url, data=typed, files=files)

    assert answer.status_code == 200
    assert "It can be imported: 2 slates" in text_of(answer.text)
    assert token_of(answer.text) != token


def test_kept_columns_are_used_again(desk: Desk) -> None:
    """Columns that were kept under a name fill in all roles and meanings of another table."""
    one, two = desk.plan().event.id, desk.plan(name="Autumn").event.id
    table = TABLE.replace("genus", "what was it")
    token = token_of(desk.client.post(f"/surveys/{one}/import", data={"text": table}).text)
    desk.client.post(f"/surveys/{one}/import", data={
        **ROLES, "role.name": "what was it", "token": token, "do": "import", "keep_as": "Ours",
        "meanings": "blue coral = Heliopora"})  # fmt: skip
    kept = list_columns(desk.team.programme)[0].id

    page = desk.client.post(f"/surveys/{two}/import", data={
        "text": table, "kept": kept, "do": "kept"})  # fmt: skip

    assert page.status_code == 200, text_of(page.text)
    assert "It can be imported: 2 slates" in text_of(page.text)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        pytest.param(b"\xff\xfe\x00bad", "Save it as CSV in UTF-8", id="not UTF-8"),
        pytest.param(b"a;b;c\n1;2;3\n", "expected", id="semicolons"),
        pytest.param(b'"open\n', "expected", id="a quote left open"),
    ],
)
def test_a_file_that_is_no_table_is_told(desk: Desk, data: bytes, told: str) -> None:
    """Bytes that are no CSV are refused with what to do, and nothing is written."""
    survey = desk.plan().event.id
    files = {"file": ("x.csv", data, "text/csv")}

    answer = desk.client.post(f"/surveys/{survey}/import", data={"do": "import"}, files=files)

    assert answer.status_code == 422
    assert told in text_of(answer.text)
    assert slates_of(desk, survey) == 0


def test_a_table_that_is_gone_asks_for_the_file_again(desk: Desk) -> None:
    """After a restart the settings stay, and the page says to choose the file again."""
    survey = desk.plan().event.id
    typed = {**ROLES, "token": "gone", "meanings": "x = Porites", "do": "import"}

    answer = desk.client.post(f"/surveys/{survey}/import", data=typed)

    assert answer.status_code == 422
    assert "Choose the file, or paste it; what you set is kept." in text_of(answer.text)
    assert 'name="role.name" value="genus"' in answer.text
    assert 'name="meanings" value="x = Porites"' in answer.text


def test_only_a_lead_imports(desk: Desk) -> None:
    """An observer is refused, for the page and for the table."""
    survey = desk.plan().event.id
    desk.be(desk.team.observer)

    assert desk.client.get(f"/surveys/{survey}/import").status_code == 403
    sent = desk.client.post(f"/surveys/{survey}/import", data={"text": TABLE})
    assert sent.status_code == 403
