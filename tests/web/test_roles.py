"""What each role may do."""

from __future__ import annotations

import pytest

from web.opened import Pages

WRITES = (
    ("/colonies", {}),
    ("/colonies/{colony}/states", {"character": "growth_form", "state": "massive"}),
    ("/colonies/{colony}/name", {"name": "x"}),
    ("/colonies/{colony}/note", {"text": "x"}),
    ("/colonies/{colony}/undo", {}),
    ("/colonies/{colony}/second-reader", {}),
    ("/colonies/{colony}/voucher", {"permit": "1"}),
    ("/programme/sites", {"name": "S", "region": "indo_pacific"}),
    ("/programme/events", {"kind": "survey", "name": "S"}),
)
DECIDES = (
    ("/colonies/{colony}/override", {"genus": "Favites", "reason": "seen"}),
    ("/genera/Favites/edit", {"character": "growth_form", "text": "always massive", "keep": "1"}),
    ("/programme/people", {"name": "New"}),
    ("/programme/pair", {"person": "{lead}"}),
    ("/programme/redetermine/preview", {}),
    ("/programme/redetermine", {"hash": "x"}),
)


def act_as(pages: Pages, name: str) -> None:
    """Choose somebody at this machine."""
    pages.client.post("/person", data={"person": pages.people[name]})


@pytest.mark.parametrize(("path", "data"), [*WRITES, *DECIDES])
def test_a_reader_writes_nothing(pages: Pages, path: str, data: dict[str, str]) -> None:
    """Every route that writes answers a reader with 403 and who may."""
    colony = pages.colony()
    data = {key: value.format(lead=pages.people["Lead"]) for key, value in data.items()}
    act_as(pages, "Guest")

    answer = pages.client.post(path.format(colony=colony), data=data)

    assert answer.status_code == 403
    assert "reader may not" in answer.text


@pytest.mark.parametrize(("path", "data"), DECIDES)
def test_an_observer_decides_nothing(pages: Pages, path: str, data: dict[str, str]) -> None:
    """Every route that decides answers an observer with 403."""
    colony = pages.colony()
    data = {key: value.format(lead=pages.people["Lead"]) for key, value in data.items()}
    act_as(pages, "Observer 1")

    assert pages.client.post(path.format(colony=colony), data=data).status_code == 403


@pytest.mark.parametrize("name", ["Guest", "Observer 1", "Lead"])
def test_everybody_reads_every_page(pages: Pages, name: str) -> None:
    """No page for reading is closed to any role."""
    colony = pages.colony()
    act_as(pages, name)

    for path in ("/", "/colonies", f"/colonies/{colony}", "/genera", "/genera/Favites",
                 "/genera/compare?a=Favites&b=Favia", "/genera/names", "/genera/differences",
                 "/genera/weak", "/readings", "/programme", "/programme/history",
                 "/programme/redetermine", "/colonies/new"):  # fmt: skip
        assert pages.client.get(path).status_code == 200, path


def test_a_reader_is_shown_no_form_of_a_record(pages: Pages) -> None:
    """What a reader may not do is not offered."""
    colony = pages.colony()
    act_as(pages, "Guest")

    text = pages.client.get(f"/colonies/{colony}").text

    assert f"/colonies/{colony}/states" not in text
    assert "Keep this answer" not in text
