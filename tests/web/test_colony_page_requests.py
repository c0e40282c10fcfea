"""The colony page as text: what is said, kept and taken back."""

from __future__ import annotations

import re

import pytest

from corallum.actions.colonies import get_colony
from corallum.actions.colony_answers import answer_colony
from web.opened import Pages, picture

PART = {"hx-request": "true"}


def report(pages: Pages, colony: str, character: str, *states: str, **more: str) -> str:
    """Report states and return the part of the page that comes back."""
    data = {"character": character, "state": list(states), **more}
    answer = pages.client.post(f"/colonies/{colony}/states", data=data, headers=PART)
    assert answer.status_code == 200, answer.text
    return answer.text


def test_a_tap_is_answered_with_the_part_that_changes(pages: Pages) -> None:
    """The answer to a tap is a piece of a page with the evidence and the odds in it."""
    text = report(pages, pages.colony(), "corallite_arrangement", "meandroid")

    assert "<html" not in text
    assert 'id="work"' in text
    assert "meandroid" in text


def test_the_odds_are_those_of_the_model(pages: Pages) -> None:
    """The first odds on the page are the model's first candidate, rounded to whole percent."""
    colony = pages.colony()
    text = report(pages, colony, "growth_form", "branching")

    first = answer_colony(pages.programme, colony).candidates[0]
    rows = re.findall(r'<th scope="row"><i>(\w+)</i></th>.*?class="num">([^<]+)<', text, re.DOTALL)
    assert rows[0] == (first.genus, f"{100 * first.probability:.0f}\u00a0%")


def test_without_scripts_a_tap_leads_back_to_the_page(pages: Pages) -> None:
    """A form that was sent plainly is answered by the page itself."""
    colony = pages.colony()
    data = {"character": "growth_form", "state": "massive"}

    answer = pages.client.post(f"/colonies/{colony}/states", data=data, follow_redirects=False)

    assert answer.status_code == 303
    assert answer.headers["location"] == f"/colonies/{colony}"


def test_a_set_and_a_doubt_are_kept_as_reported(pages: Pages) -> None:
    """Two states and a doubt are one report of one of two, not sure."""
    colony = pages.colony()
    report(pages, colony, "corallite_arrangement", "plocoid", "cerioid", unsure="1")

    kept = get_colony(pages.programme, colony).reports["corallite_arrangement"].report
    assert kept.states == ("plocoid", "cerioid")
    assert kept.sure is False


def test_a_size_may_be_written_with_a_comma(pages: Pages) -> None:
    """7,5 is 7.5 mm, with its count and method."""
    colony = pages.colony()
    data = {"character": "calice_diameter_mm", "value": "7,5", "n": "5", "method": "ruler"}

    pages.client.post(f"/colonies/{colony}/size", data=data)

    kept = get_colony(pages.programme, colony).reports["calice_diameter_mm"].report
    assert (kept.value, kept.n, kept.method) == (7.5, 5, "ruler")


@pytest.mark.parametrize(
    "data",
    [
        {"character": "calice_diameter_mm", "value": "-3"},
        {"character": "calice_diameter_mm", "value": "nan"},
        {"character": "calice_diameter_mm", "value": "1e999"},
        {"character": "calice_diameter_mm", "value": "wide"},
        {"character": "calice_diameter_mm", "value": ""},
        {"character": "calice_diameter_mm", "value": "7", "n": "0"},
        {"character": "calice_diameter_mm", "value": "7", "n": "1.5"},
        {"character": "calice_diameter_mm", "value": "7", "method": "guess"},
        {"character": "no_such", "value": "7"},
        {"character": "growth_form", "value": "7"},
    ],
)
def test_a_size_that_is_none_is_refused(pages: Pages, data: dict[str, str]) -> None:
    """A bad size is answered with 422 and a line that says what to do; nothing is kept."""
    colony = pages.colony()

    answer = pages.client.post(f"/colonies/{colony}/size", data=data)

    assert answer.status_code == 422
    assert 'class="fault"' in answer.text
    assert not get_colony(pages.programme, colony).reports


def test_a_fault_on_an_open_page_is_one_line_on_it(pages: Pages) -> None:
    """A tap that fails is answered by a line for the place that is meant for it."""
    answer = pages.client.post(
        f"/colonies/{pages.colony()}/states",
        data={"character": "growth_form", "state": "no_such"},
        headers=PART,
    )

    assert answer.status_code == 422
    assert answer.headers["hx-retarget"] == "#notice"
    assert "<html" not in answer.text


def test_undo_and_undo_of_an_entry(pages: Pages) -> None:
    """Undo takes back the newest change, and a named one where it is asked for."""
    colony = pages.colony()
    report(pages, colony, "growth_form", "massive")
    first = get_colony(pages.programme, colony).history[-1].id
    report(pages, colony, "tissue", "fleshy")

    pages.client.post(f"/colonies/{colony}/undo", data={"entry": str(first)})
    assert list(get_colony(pages.programme, colony).reports) == ["tissue"]
    pages.client.post(f"/colonies/{colony}/undo")
    assert not get_colony(pages.programme, colony).reports


def test_a_condition_is_turned_on_and_off(pages: Pages) -> None:
    """The same tap says a condition and takes it back."""
    colony = pages.colony()
    data = {"kind": "condition", "subject": "shaded"}

    pages.client.post(f"/colonies/{colony}/setting", data=data)
    on = get_colony(pages.programme, colony).conditions
    pages.client.post(f"/colonies/{colony}/setting", data=data)

    assert on == ("shaded",)
    assert get_colony(pages.programme, colony).conditions == ()


def test_kept_answers_stay_beside_a_lead_s_own_name(pages: Pages) -> None:
    """After an override the model's determination is still there, and the lead's is shown."""
    colony = pages.colony()
    report(pages, colony, "growth_form", "massive")
    pages.client.post(f"/colonies/{colony}/keep")

    text = pages.client.post(
        f"/colonies/{colony}/override", data={"genus": "Favites", "reason": "seen again"}
    ).text

    record = get_colony(pages.programme, colony)
    assert [one.kind for one in record.determinations] == ["model", "override"]
    assert "seen again" in text


def test_a_voucher_needs_a_permit(pages: Pages) -> None:
    """Without a permit number no voucher is recorded."""
    colony = pages.colony()

    answer = pages.client.post(f"/colonies/{colony}/voucher", data={"label": "x"})

    assert answer.status_code == 422
    assert not get_colony(pages.programme, colony).vouchers


def test_a_second_reader_does_not_see_the_answer(pages: Pages) -> None:
    """The page for a second reading shows the evidence and no odds, and keeps the answer."""
    colony = pages.colony()
    report(pages, colony, "growth_form", "massive")
    pages.client.post(f"/colonies/{colony}/second-reader", data={"question": "Which?"})
    asked = get_colony(pages.programme, colony).readings[0].history

    pages.client.post("/person", data={"person": pages.people["Observer 1"]})
    text = pages.client.get(f"/readings/{asked}").text
    pages.client.post(
        f"/readings/{asked}", data={"genera": "Favites, Goniastrea", "confidence": "70"}
    )

    assert "massive" in text
    assert "%" not in text.split("<main")[1].split("</main>")[0].replace("percent", "")
    answer = get_colony(pages.programme, colony).readings[0].answer
    assert answer is not None
    assert answer.genera == ("Favites", "Goniastrea")
    assert answer.confidence == 0.7


@pytest.mark.parametrize("path", ["", "/look/growth_form", "/photos/" + "0" * 64])
def test_a_colony_that_is_not_there_is_said_to_be_missing(pages: Pages, path: str) -> None:
    """An id that is none gets 404, whatever it looks like."""
    for id_ in ("000000000000", "x", "%00", "a" * 500):
        assert pages.client.get(f"/colonies/{id_}{path}").status_code == 404


def test_a_photo_is_measured_by_numbers_alone(pages: Pages) -> None:
    """Without scripts, points typed as numbers give the width: 100 px at 0.1 mm are 10 mm."""
    colony = pages.colony()
    pages.client.post(f"/colonies/{colony}/photos", files={"photo": ("x", picture())})
    photo = get_colony(pages.programme, colony).photos[0].photo.sha256
    marks = {"scale_kind": "known", "first": "0.1", "task": "widths", "points": "10, 20\n110, 20"}
    url = f"/colonies/{colony}/photos/{photo}"

    text = pages.client.post(f"{url}/measure", data=marks).text
    keep = {**marks, "kind": "width", "character": "calice_diameter_mm"}
    answer = pages.client.post(f"{url}/keep", data=keep)

    assert "Width: 10 mm" in text
    assert answer.status_code == 200
    kept = get_colony(pages.programme, colony).reports["calice_diameter_mm"].report
    assert (kept.value, kept.n, kept.method) == (pytest.approx(10.0), 1, "photo")


@pytest.mark.parametrize(
    "marks",
    [
        {"scale_kind": "ruler", "first": "10", "scale_points": "1, 1"},
        {"scale_kind": "ruler", "first": "", "scale_points": "1,1\n9,9"},
        {"scale_kind": "ruler", "first": "10", "scale_points": "1,1\n1,1"},
        {"scale_kind": "ruler", "first": "-1", "scale_points": "1,1\n9,9"},
        {"scale_kind": "disc", "first": "10", "scale_points": "1,1\n2,2\n3,3"},
        {"scale_kind": "rectangle", "first": "10", "second": "10", "scale_points": "1,1\n2,2"},
        {"scale_kind": "rectangle", "first": "10", "scale_points": "1,1\n9,1\n9,9\n1,9"},
        {"scale_kind": "known", "first": "0"},
        {"scale_kind": "known", "first": "0.1", "task": "widths", "points": "1,1"},
        {"scale_kind": "known", "first": "0.1", "task": "widths", "points": "1,1\n9999,1"},
        {"scale_kind": "known", "first": "0.1", "task": "widths", "points": "[[1,"},
        {"scale_kind": "known", "first": "0.1", "task": "widths", "points": "[[1,1],[null,2]]"},
        {"scale_kind": "known", "first": "0.1", "task": "nothing"},
        {"scale_kind": "nothing", "first": "1"},
    ],
)
def test_marks_that_can_not_be_measured_are_refused(pages: Pages, marks: dict[str, str]) -> None:
    """Bad marks get 422 and a line that says what to place."""
    colony = pages.colony()
    pages.client.post(f"/colonies/{colony}/photos", files={"photo": ("x", picture())})
    photo = get_colony(pages.programme, colony).photos[0].photo.sha256

    answer = pages.client.post(f"/colonies/{colony}/photos/{photo}/measure", data=marks)

    assert answer.status_code == 422
    assert 'class="fault"' in answer.text
