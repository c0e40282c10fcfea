"""What no page lets through: other sites, other hosts, too much, strangers."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from corallum.actions.colonies import get_colony
from corallum.actions.people import list_devices
from corallum.store.programme import Programme
from corallum.web.app import create_app
from corallum.web.guard import is_own_host
from web.opened import LOCAL, OWN, Pages, picture


@pytest.mark.parametrize(
    "headers",
    [
        pytest.param({"sec-fetch-site": "cross-site"}, id="from another site"),
        pytest.param({"sec-fetch-site": "same-site"}, id="from another port's site"),
        pytest.param({"sec-fetch-site": "", "origin": "http://evil.example"}, id="other origin"),
        pytest.param({"sec-fetch-site": "", "origin": "null"}, id="no origin of its own"),
        pytest.param({"sec-fetch-site": "same-origin", "origin": "http://evil.example"}, id="both"),
    ],
)
def test_a_form_of_another_site_is_refused(pages: Pages, headers: dict[str, str]) -> None:
    """A form that another site sends writes nothing and gets 403."""
    answer = pages.client.post("/colonies", headers=headers, follow_redirects=False)

    assert answer.status_code == 403
    assert "No. 1" not in pages.client.get("/colonies").text


def test_a_form_that_does_not_say_where_it_comes_from_is_refused(programme: Programme) -> None:
    """Without either header that browsers send, nothing is written."""
    client = TestClient(create_app(programme), base_url=LOCAL)

    assert client.post("/colonies", follow_redirects=False).status_code == 403


def test_a_page_elsewhere_may_link_but_not_embed(pages: Pages) -> None:
    """A link from elsewhere opens a page; a picture or script elsewhere gets nothing."""
    link = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    embed = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}

    assert pages.client.get("/", headers=link).status_code == 200
    assert pages.client.get("/", headers=embed).status_code == 403


@pytest.mark.parametrize(
    ("host", "own"),
    [
        ("127.0.0.1:8420", True),
        ("[::1]:8420", True),
        ("localhost", True),
        ("192.168.4.7:8420", True),
        ("evil.example", False),
        ("127.0.0.1.evil.example", False),
        ("", False),
        ("[", False),
        ("localhost@evil.example", False),
    ],
)
def test_a_name_of_somebody_else_is_no_host(host: str, *, own: bool) -> None:
    """Bare addresses and this machine's names are hosts; a name that points here is not."""
    assert is_own_host(host) is own


def test_another_host_is_refused(pages: Pages) -> None:
    """A name that was pointed at this machine reads nothing."""
    assert pages.client.get("/", headers={"host": "evil.example"}).status_code == 403


@pytest.mark.parametrize("path", ["/", "/static/page.js", "/no-such-page", "/genera"])
def test_every_answer_carries_the_policy(pages: Pages, path: str) -> None:
    """Pages, files and faults alike forbid inline scripts and other hosts."""
    headers = pages.client.get(path).headers

    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["x-content-type-options"] == "nosniff"


def test_too_much_is_refused(pages: Pages) -> None:
    """A form of more than a megabyte is refused with 413, whatever it claims to be."""
    colony = pages.colony()

    answer = pages.client.post(f"/colonies/{colony}/note", data={"text": "x" * 1_100_000})

    assert answer.status_code == 413


def test_too_much_in_pieces_is_refused_too(pages: Pages) -> None:
    """A body that does not say its length is cut off where it gets too long; nothing is kept."""
    colony = pages.colony()
    pieces = (b"text=" + b"x" * 100_000 for _ in range(12))

    answer = pages.client.post(
        f"/colonies/{colony}/note",
        content=pieces,
        headers={"content-type": "application/x-www-form-urlencoded"},
    )

    assert answer.status_code in (400, 413)
    assert not get_colony(pages.programme, colony).notes


@pytest.mark.parametrize(
    ("name", "data"),
    [
        pytest.param("x.jpg", b"", id="empty"),
        pytest.param("x.jpg", b"<script>alert(1)</script>", id="a script"),
        pytest.param("x.png", b"\x89PNG\r\n\x1a\n" + b"0" * 100, id="a broken picture"),
        pytest.param("x.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", id="a drawing"),
    ],
)
def test_what_is_no_picture_is_refused(pages: Pages, name: str, data: bytes) -> None:
    """The content decides, never the name."""
    colony = pages.colony()

    answer = pages.client.post(f"/colonies/{colony}/photos", files={"photo": (name, data)})

    assert answer.status_code == 422
    assert not list((pages.programme.folder / "photos").rglob("*.*"))


def test_the_name_of_a_file_is_never_used(pages: Pages) -> None:
    """A name that climbs out of the folder neither does so nor shows up."""
    colony = pages.colony()

    answer = pages.client.post(
        f"/colonies/{colony}/photos", files={"photo": ("../../../evil.png", picture())}
    )

    assert answer.status_code == 200
    assert "evil" not in answer.text
    assert not list(pages.programme.folder.parent.rglob("*evil*"))


@pytest.mark.parametrize(
    "path",
    [
        "/photos/..%2f..%2fcorallum.db/original",
        "/photos/%2e%2e%2f%2e%2e/original",
        "/photos/" + "a" * 64 + "/..%2foriginal",
        "/static/..%2f..%2fapp.py",
        "/static/%2e%2e/app.py",
        "/drawings/..%2f..%2f/x.svg",
    ],
)
def test_no_path_leads_out_of_the_folder(pages: Pages, path: str) -> None:
    """Addresses that climb are not found."""
    assert pages.client.get(path).status_code == 404


def test_text_is_escaped_everywhere(pages: Pages) -> None:
    """Whatever is typed into any field comes back as text, never as markup."""
    evil = "<script>alert('x')</script>\"'><img src=x>"
    client, colony = pages.client, pages.colony()
    client.post("/programme/people", data={"name": evil, "role": "observer"})
    client.post("/programme/sites", data={"name": evil, "region": "indo_pacific"})
    permit = {"permit_number": evil, "holder": evil, "expires": "2999-01-01", "covers": evil}
    assert client.post("/programme/permits", data=permit).status_code == 200
    for path, data in (
        ("name", {"name": evil}),
        ("note", {"text": evil}),
        ("second-reader", {"question": evil}),
        ("voucher", {"permit": evil, "label": evil}),
        ("override", {"genus": "Favites", "reason": evil}),
    ):
        assert client.post(f"/colonies/{colony}/{path}", data=data).status_code == 200
    client.post(
        f"/colonies/{colony}/photos", files={"photo": ("x", picture())}, data={"caption": evil}
    )

    for path in ("/", "/colonies", f"/colonies/{colony}", "/programme", "/readings",
                 "/colonies?text=" + evil, "/genera?text=" + evil, "/genera/" + evil):  # fmt: skip
        text = client.get(path).text
        assert "<script>alert" not in text
        assert "<img src=x>" not in text


def test_a_theme_leads_nowhere_else(pages: Pages) -> None:
    """The way back after choosing a theme is a path of this program."""
    for back in ("//evil.example", "/\\evil.example", "https://evil.example", "x"):
        answer = pages.client.post(
            "/theme", data={"theme": "dark", "back": back}, follow_redirects=False
        )
        assert answer.headers["location"] == "/"


def network_client(programme: Programme) -> tuple[TestClient, TestClient]:
    """Return a client at the station and one on its network."""
    app = create_app(programme, network=True)
    here = TestClient(app, base_url=LOCAL, headers=OWN, client=("127.0.0.1", 50000))
    there = TestClient(
        app, base_url="http://192.168.4.7:8420", headers=OWN, client=("192.168.4.20", 50000)
    )
    return here, there


def code_on(text: str) -> str:
    """Return the code that a page shows."""
    found = re.search(r'class="code">([\d ]+)<', text)
    assert found, "no code is shown"
    return found[1]


def test_a_stranger_on_the_network_sees_only_where_to_pair(programme: Programme) -> None:
    """An unpaired device is sent to the page for codes, whatever it asks for."""
    _, there = network_client(programme)

    for path in ("/", "/colonies", "/programme", "/genera", "/drawings/growth_form/massive.svg"):
        answer = there.get(path, follow_redirects=False)
        assert answer.status_code == 303
        assert answer.headers["location"] == "/pair"
    assert there.post("/colonies", follow_redirects=False).headers["location"] == "/pair"


def test_a_code_pairs_one_device_once(programme: Programme, pages: Pages) -> None:
    """The code that the lead reads out lets one device in, as one person, and then is used up."""
    here, there = network_client(programme)
    whom = pages.people["Observer 1"]
    code = code_on(here.post("/programme/pair", data={"person": whom, "device": "Phone"}).text)

    first = there.post("/pair", data={"code": code})
    again = TestClient(there.app, base_url="http://192.168.4.7", headers=OWN,
                       client=("192.168.4.21", 1)).post("/pair", data={"code": code})  # fmt: skip

    assert first.status_code == 200
    assert "Observer 1" in first.text
    assert again.status_code == 403
    token = there.cookies.get("corallum_device")
    assert token
    assert [device.name for device in list_devices(programme)] == ["Phone"]


def test_the_key_of_a_device_is_out_of_reach_of_scripts(programme: Programme, pages: Pages) -> None:
    """The cookie is HttpOnly and is not sent along from other sites."""
    here, there = network_client(programme)
    whom = pages.people["Observer 1"]
    code = code_on(here.post("/programme/pair", data={"person": whom, "device": "Phone"}).text)

    cookie = there.post("/pair", data={"code": code}, follow_redirects=False).headers["set-cookie"]

    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie


def test_a_device_whose_key_was_taken_back_is_a_stranger(
    programme: Programme, pages: Pages
) -> None:
    """After the lead takes the key back, the device is sent to pair again."""
    here, there = network_client(programme)
    whom = pages.people["Observer 1"]
    code = code_on(here.post("/programme/pair", data={"person": whom, "device": "Phone"}).text)
    there.post("/pair", data={"code": code})
    device = list_devices(programme)[0].id

    here.post(f"/programme/devices/{device}/take-back")

    assert there.get("/", follow_redirects=False).headers["location"] == "/pair"


def test_codes_can_not_be_tried_out(programme: Programme, pages: Pages) -> None:
    """After ten wrong tries even the right code is void."""
    here, there = network_client(programme)
    whom = pages.people["Observer 1"]
    code = code_on(here.post("/programme/pair", data={"person": whom, "device": "Phone"}).text)

    for guess in range(10):
        there.post("/pair", data={"code": f"{guess:08d}"})

    assert there.post("/pair", data={"code": code}).status_code == 403


def test_a_paired_device_can_not_choose_who_it_is(programme: Programme, pages: Pages) -> None:
    """On the network a person is paired, not chosen, whatever cookie is sent."""
    here, there = network_client(programme)
    whom = pages.people["Guest"]
    code = code_on(here.post("/programme/pair", data={"person": whom, "device": "Phone"}).text)
    there.post("/pair", data={"code": code})

    there.cookies.set("corallum_person", pages.people["Lead"])

    assert "<strong>Guest</strong>" in there.get("/").text
    assert there.post("/person", data={"person": pages.people["Lead"]}).status_code == 409
    assert there.post("/colonies").status_code == 403
