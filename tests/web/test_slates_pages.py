"""Slates: typed, read as they are typed, shown line by line, mended; flags decided."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from corallum.actions.people import ChangePerson, change_person
from corallum.actions.slates import WriteSlate, get_slate, write_slate
from corallum.actions.survey_flags import flags_of_survey
from corallum.actions.survey_plans import get_survey
from corallum.records.survey import Line
from web.survey_desk import Desk, open_desk, text_of


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Open a programme with two sites."""
    with open_desk(tmp_path / "p") as found:
        yield found


def test_a_slate_is_written_as_it_was_typed(desk: Desk) -> None:
    """Short names, ends of the tape, observer, day, depth and length are those of the form."""
    view = desk.plan()
    typed = {"text": "120 porites/massive\n150 sand # rippled\n200-260 acrop",
             "observer": desk.team.observer, "date": "2026-03-12", "depth": "7,5",
             "length_cm": "900", "note": "Surge"}  # fmt: skip

    answer = desk.client.post(f"/surveys/{view.event.id}/transects/{desk.transects(view)[0]}",
                              data=typed)  # fmt: skip

    slate, _ = get_slate(desk.team.programme, int(answer.url.path.rpartition("/")[2]))
    assert [(one.label, one.from_cm, one.to_cm) for one in slate.lines] == [
        ("Porites", 0, 120), ("sand", 120, 150), ("Acropora", 200, 260),
    ]  # fmt: skip
    assert (slate.observer, slate.date.isoformat()) == (desk.team.observer, "2026-03-12")
    assert (slate.depth_m, slate.effort.length_cm, slate.note) == (7.5, 900, "Surge")
    told = text_of(answer.text)
    assert "0 to 120 cm Porites , massive" in told
    assert "rippled" in told


def test_faults_of_a_slate_are_told_by_line_and_the_text_stays(desk: Desk) -> None:
    """Nothing is written, each bad line is named, and the typed text is in the form."""
    view = desk.plan()
    text = "120 porites\nporites\n150 pori\n160 Poritess\n"

    answer = desk.client.post(
        f"/surveys/{view.event.id}/transects/{desk.transects(view)[0]}",
        data={"text": text, "depth": "6"},
    )

    told = text_of(answer.text)
    assert answer.status_code == 422
    assert "slate, line 2" in told
    assert "slate, line 4" in told
    assert "slate, line 3" not in told
    assert text.strip() in answer.text
    assert 'name="depth" value="6"' in answer.text
    assert get_survey(desk.team.programme, view.event.id).slates == {}


def test_each_line_is_said_back_as_it_is_typed(desk: Desk) -> None:
    """The part for a script tells what each line is taken for, unfinished ones too."""
    view = desk.plan()
    url = f"/surveys/{view.event.id}/transects/{desk.transects(view)[0]}/read"
    text = "120 por\n150 nosuch\n180 sand"

    part = desk.client.post(url, data={"text": text}, headers={"hx-request": "true"})
    whole = desk.client.post(url, data={"text": text})

    told = text_of(part.text)
    assert "0 to 120 cm: Porites" in told
    assert "150 nosuch : a known name is expected" in told
    assert "120 to 180 cm: sand" in told
    assert "2 records; 1 line is not understood yet" in told
    assert "<html" not in part.text
    assert "0 to 120 cm: Porites" in text_of(whole.text)
    assert text in whole.text
    assert get_survey(desk.team.programme, view.event.id).slates == {}


def test_a_mended_slate_keeps_what_was_left_alone(desk: Desk) -> None:
    """Marks, photos and counts that can't be typed stay on lines that were not altered."""
    view = desk.plan("belt")
    lines = (
        Line("Favia sp. 2", "Dipsastraea", "genus", diameter_cm=12.0, colony="A7", count=2),
        Line("Porites", "Porites", "genus", diameter_cm=300.0, note="read twice"),
        Line("Acropora", "Acropora", "genus", diameter_cm=40.0, off_line_cm=-20.0),
    )
    first = write_slate(
        desk.team.programme, WriteSlate(desk.transects(view)[0], lines, depth_m=5.0),
        *desk.team.by(),
    )  # fmt: skip
    page = desk.client.get(f"/slates/{first.history}/mend").text
    assert "Porites 300 # read twice" in page

    text = "Favia sp. 2 12\nPorites 30 # read twice\nAcropora 40 -20"
    # A digit in a name can't be typed, so the line has to be left alone to stay.
    answer = desk.client.post(f"/slates/{first.history}/mend", data={
        "text": text, "observer": desk.team.observer, "date": first.date.isoformat(),
        "depth": "5"})  # fmt: skip

    assert answer.status_code == 200, text_of(answer.text)
    slate, _ = get_slate(desk.team.programme, int(answer.url.path.rpartition("/")[2]))
    assert slate.lines[0] == lines[0]
    assert slate.lines[2] == lines[2]
    assert (slate.lines[1].diameter_cm, slate.lines[1].note) == (30.0, "read twice")
    assert slate.replaces == first.history
    assert slate.effort == first.effort
    old = desk.see(f"/slates/{first.history}")
    assert "This slate was mended and counts no more." in old


def test_who_reads_a_record_again_does_not_see_it_on_the_slate(desk: Desk) -> None:
    """Lines drawn for a second reading are hidden from those who may read them."""
    view = desk.plan("belt")
    slate = desk.write(desk.transects(view)[0], "porites 20")
    desk.client.post(f"/surveys/{view.event.id}/readings/draw", data={"share": "100"})
    url = f"/slates/{slate.history}"

    seen = {}
    for who in ("observer", "second", "lead"):
        desk.be(getattr(desk.team, who))
        seen[who] = [desk.see(url), desk.see(f"{url}?show=1")]

    assert "Porites" in seen["observer"][0]
    assert "Porites" not in seen["second"][0]
    assert "Porites" not in seen["second"][1]
    assert "Porites" not in seen["lead"][0]
    assert "Porites" in seen["lead"][1]


def test_a_lead_decides_on_flags_with_a_reason(desk: Desk) -> None:
    """Leaving out needs a reason, what was typed stays, and the page says who decided."""
    view = desk.plan("belt")
    slate = desk.write(desk.transects(view)[0], "porites 20 80\nfavites 12")
    url = f"/surveys/{view.event.id}/flags"
    data = {"slate": slate.history, "line": "1", "rule": "outside_belt"}
    assert "Outside the belt T1, Inner reef, line 1" in desk.see(url)

    refused = desk.client.post(url, data={**data, "decision": "left_out", "note": " "})
    desk.client.post(url, data={**data, "decision": "left_out", "note": "beyond the <tape>"})

    assert refused.status_code == 422
    assert "Say why it is left out" in text_of(refused.text)
    answers = [one.answer for one in flags_of_survey(desk.team.programme, view.event.id)
               if one.flag.rule == "outside_belt"]  # fmt: skip
    assert [(one.decision, one.note) for one in answers if one] == [
        ("left_out", "beyond the <tape>")
    ]
    told = desk.see(url)
    assert "Left out : beyond the <tape> Lead" in told
    desk.be(desk.team.observer)
    assert desk.client.post(url, data={**data, "decision": "stands"}).status_code == 403
    assert "It stands" not in desk.see(url)
    assert "Left out" in desk.see(f"/slates/{slate.history}")


def test_a_long_slate_is_shown_in_pages(desk: Desk) -> None:
    """A slate of more than 200 lines is cut, and each line keeps its own number and anchor."""
    view = desk.plan()
    text = "\n".join(f"{i} sand" for i in range(1, 251))
    slate = desk.write(desk.transects(view)[0], text)

    first = desk.client.get(f"/slates/{slate.history}").text
    second = desk.client.get(f"/slates/{slate.history}?page=2").text

    assert 'id="line-200"' in first
    assert 'id="line-201"' not in first
    assert 'id="line-201"' in second
    assert desk.client.get(f"/slates/{slate.history}?page=1e99").status_code == 200


def test_a_reader_types_nothing(desk: Desk) -> None:
    """A reader sees slates, gets no form, and can't write."""
    view = desk.plan("belt")
    slate = desk.write(desk.transects(view)[0], "porites 20")
    url = f"/surveys/{view.event.id}/transects/{desk.transects(view)[1]}"
    desk.be(desk.team.reader)

    assert "<textarea" not in desk.client.get(url).text
    assert desk.client.post(url, data={"text": "porites 20"}).status_code == 403
    mend = {"text": "porites 21"}
    assert desk.client.post(f"/slates/{slate.history}/mend", data=mend).status_code == 403
    assert "Mend it" not in desk.see(f"/slates/{slate.history}")


def test_a_slate_of_somebody_who_left_stays_theirs(desk: Desk) -> None:
    """The form that mends it still has its observer chosen, though they are gone."""
    view = desk.plan("belt")
    slate = desk.write(desk.transects(view)[0], "porites 20")
    gone = ChangePerson(desk.team.observer, active=False)
    change_person(desk.team.programme, gone, *desk.team.by(desk.team.lead))

    page = desk.client.get(f"/slates/{slate.history}/mend").text

    assert f'<option value="{desk.team.observer}" selected>' in page


def test_too_long_a_text_is_told_and_stays(desk: Desk) -> None:
    """A slate of more than 5,000 lines is refused with its text, written or only read."""
    view = desk.plan("belt")
    url = f"/surveys/{view.event.id}/transects/{desk.transects(view)[0]}"
    text = "porites 20\n" * 5001

    for path in (url, f"{url}/read"):
        answer = desk.client.post(path, data={"text": text})
        assert answer.status_code == 422
        assert "at most 5000 lines" in text_of(answer.text)
        assert answer.text.count("porites 20") == 5001
