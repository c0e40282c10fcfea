"""Second readings and photo points: blind, one at a time, and what comes of them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from corallum.actions.photo_points import point_work
from corallum.actions.record_readings import reading_state, waiting_records
from corallum.actions.slates import get_slate
from invented import picture
from web.survey_desk import Desk, open_desk, text_of


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Open a programme with two sites."""
    with open_desk(tmp_path / "p") as found:
        yield found


def add_photos(desk: Desk, transect: str, *seeds: int) -> None:
    """Add photos to a transect by the form."""
    files = [("photo", (f"{i}.jpg", picture(i, (400, 300)), "image/jpeg")) for i in seeds]
    answer = desk.client.post(f"/transects/{transect}/photos", files=files)
    assert answer.status_code == 200, text_of(answer.text)


def name_points(desk: Desk, transect: str, person: str, names: list[str]) -> None:
    """Name points in the order in which the page shows them."""
    for name in names:
        point = point_work(desk.team.programme, transect, person).next
        assert point is not None
        typed = {"frame": point.frame, "point": point.point, "said": name}
        assert desk.client.post(f"/transects/{transect}/points", data=typed).status_code == 200


def test_points_are_named_one_at_a_time_and_make_a_slate(desk: Desk) -> None:
    """The page counts, goes on to the next, shows one again when asked, and ends in a slate."""
    desk.be(desk.team.observer)
    transect = desk.plan("photo_points").transects[0].id
    url = f"/transects/{transect}/points"
    assert "Add the photos of this transect first." in desk.see(url)
    add_photos(desk, transect, 1, 2)
    assert "0 of 6 points have a name" in desk.see(url)

    name_points(desk, transect, desk.team.observer, ["por", "sand"])
    assert "Point 3 of 6" in desk.see(url)
    assert "Point 2 of 6" in desk.see(f"{url}?at=2")
    early = desk.client.post(f"/transects/{transect}/finish", data={"depth": "5"})
    name_points(desk, transect, desk.team.observer, ["rock", "acropora", "stony coral", "sand"])
    answer = desk.client.post(f"/transects/{transect}/finish", data={"depth": "5"})

    assert early.status_code == 422
    assert "4 points have no name yet" in text_of(early.text)
    slate, _ = get_slate(desk.team.programme, int(answer.url.path.rpartition("/")[2]))
    assert [one.label for one in slate.lines] == [
        "Porites", "sand", "rock", "Acropora", "stony coral", "sand",
    ]  # fmt: skip
    assert [(one.frame, one.point) for one in slate.lines] == [
        (1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3),
    ]  # fmt: skip
    assert answer.text.count("<figure") == 2


def test_a_close_up_has_its_point_in_the_middle(desk: Desk) -> None:
    """The part of the photo that shows is a square around the place of the point."""
    desk.be(desk.team.observer)
    transect = desk.plan("photo_points").transects[0].id
    add_photos(desk, transect, 1)
    point = point_work(desk.team.programme, transect, desk.team.observer).points[0]

    page = desk.client.get(f"/transects/{transect}/points").text

    left, top, wide, high = map(float, page.split('class="closeup" viewBox="')[1].split('"')[0]
                                .split())  # fmt: skip
    assert wide == high
    # The photo is 400 by 300; numbers in the page have one decimal.
    assert left + wide / 2 == pytest.approx(400 * point.x, abs=0.15)
    assert top + high / 2 == pytest.approx(300 * point.y, abs=0.15)


def test_a_name_that_may_be_several_keeps_the_point(desk: Desk) -> None:
    """An unknown or ambiguous name is told, and the same point stays with what was typed."""
    desk.be(desk.team.observer)
    transect = desk.plan("photo_points").transects[0].id
    add_photos(desk, transect, 1)

    typed = {"frame": "1", "point": "2", "said": "po<"}
    answer = desk.client.post(f"/transects/{transect}/points", data=typed)

    assert answer.status_code == 422
    assert "Point 2 of 3" in text_of(answer.text)
    assert 'value="po&lt;"' in answer.text
    work = point_work(desk.team.programme, transect, desk.team.observer)
    assert work.named == 0


def test_a_bad_photo_leaves_the_good_ones(desk: Desk) -> None:
    """Of several files those that are photos are kept, and the other is told by number."""
    desk.be(desk.team.observer)
    transect = desk.plan("photo_points").transects[0].id
    files = [("photo", ("a.jpg", picture(1), "image/jpeg")),
             ("photo", ("b.jpg", b"no photo", "image/jpeg")),
             ("photo", ("c.jpg", picture(2), "image/jpeg"))]  # fmt: skip

    answer = desk.client.post(f"/transects/{transect}/photos", files=files)

    assert answer.status_code == 422
    assert "Photo 2 of 3" in text_of(answer.text)
    assert len(point_work(desk.team.programme, transect, desk.team.observer).frames) == 2


def test_other_methods_have_no_photo_points(desk: Desk) -> None:
    """A transect that is read along a tape refuses, and says what to do."""
    transect = desk.plan().transects[0].id

    answer = desk.client.get(f"/transects/{transect}/points")

    assert answer.status_code == 422
    assert "Write its slate instead." in answer.text


def test_a_record_is_read_again_without_what_was_said(desk: Desk) -> None:
    """The page shows where to look, not the name; a reading goes on to the next record."""
    view = desk.plan("belt")
    url = f"/surveys/{view.event.id}/readings"
    desk.write(desk.transects(view)[0], "goniastrea 21\nplatygyra 35")
    desk.client.post(f"{url}/draw", data={"share": "100", "least": "1"})
    desk.be(desk.team.second)
    page = desk.client.get(url).text
    first = waiting_records(desk.team.programme, view.event.id, desk.team.second)[0]

    told = text_of(page)
    assert "transect T1, colony of" in told
    assert "2 wait for you" in told
    assert "Goniastrea" not in told
    assert "Platygyra" not in told

    typed = {"slate": first.slate, "line": first.line, "said": "stony coral"}
    desk.client.post(url, data=typed)
    again = desk.client.post(url, data=typed)

    state = reading_state(desk.team.programme, view.event.id)
    assert [one.label for one in state.readings.values()] == ["stony coral"]
    assert again.status_code == 422
    assert "was read again already" in text_of(again.text)
    assert "1 waits for you" in desk.see(url)


def test_a_photo_point_is_read_again_on_its_photo(desk: Desk) -> None:
    """The reader sees the photo around the point, and the whole of it."""
    desk.be(desk.team.observer)
    view = desk.plan("photo_points")
    transect = desk.transects(view)[0]
    add_photos(desk, transect, 1, 2)
    name_points(desk, transect, desk.team.observer, ["porites"] * 6)
    desk.client.post(f"/transects/{transect}/finish", data={"depth": "5"})
    desk.be(desk.team.lead)
    desk.client.post(f"/surveys/{view.event.id}/readings/draw", data={"share": "100"})
    desk.be(desk.team.second)

    page = desk.client.get(f"/surveys/{view.event.id}/readings").text

    assert page.count("<image ") == 2
    assert "Porites" not in text_of(page)


def test_agreement_is_shown_once_there_is_some(desk: Desk) -> None:
    """Half of two names disagree: 50 % taxonomic disagreement, and the pair is listed."""
    view = desk.plan("belt")
    url = f"/surveys/{view.event.id}/readings"
    desk.write(desk.transects(view)[0], "goniastrea 21\nplatygyra 35")
    desk.client.post(f"{url}/draw", data={"share": "100"})
    assert "Nothing is read twice yet." in desk.see(url)
    desk.be(desk.team.second)
    for one in waiting_records(desk.team.programme, view.event.id, desk.team.second):
        typed = {"slate": one.slate, "line": one.line, "said": "Goniastrea"}
        desk.client.post(url, data=typed)

    told = desk.see(url)

    # Stribling et al. 2003: 100 (1 - agreements / records) = 100 (1 - 1 / 2).
    assert "Different names (PTD) 50.0 %" in told
    assert "Platygyra Goniastrea 1" in told


def test_an_observer_reads_no_record_of_their_own(desk: Desk) -> None:
    """Nothing of one's own is shown to be read again."""
    view = desk.plan("belt")
    url = f"/surveys/{view.event.id}/readings"
    desk.write(desk.transects(view)[0], "goniastrea 21")
    desk.client.post(f"{url}/draw", data={"share": "100"})
    desk.be(desk.team.observer)

    told = desk.see(url)

    assert "a second reading is never one's own" in told
    assert 'name="said"' not in desk.client.get(url).text
    assert "Draw records" not in told
