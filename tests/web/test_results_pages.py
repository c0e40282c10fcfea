"""The pages of results: what they say, lead to and hand out."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from corallum.actions.survey_flags import AnswerFlag, answer_flag, flags_of_survey
from corallum.web.app import create_app
from surveyed import AFTER, BEFORE, FORMULA, Surveyed, make_surveys
from web.opened import LOCAL, OWN

_LARGEST_PAGE = 300_000


@dataclass
class Reef:
    """Invented surveys, and a client of their pages."""

    surveys: Surveyed
    client: TestClient

    def get(self, path: str, **asked: Any) -> str:  # noqa: ANN401
        """Return a page that must be there, as text."""
        answer = self.client.get(path, params=asked)
        assert answer.status_code == 200, (path, asked, answer.text[-600:])
        assert len(answer.content) < _LARGEST_PAGE
        return answer.text

    def words(self, path: str, **asked: Any) -> str:  # noqa: ANN401
        """Return what a page says, without its pictures and marks."""
        text = re.sub(r"<svg.*?</svg>", " ", self.get(path, **asked), flags=re.DOTALL)
        text = text.partition("<main")[2].partition("</main>")[0]
        return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", text)))

    def table(self, path: str, **asked: Any) -> list[dict[str, str]]:  # noqa: ANN401
        """Return a table that is handed out."""
        return list(csv.DictReader(io.StringIO(self.get(path, **asked))))

    @property
    def change(self) -> dict[str, str]:
        """Ask for the change between the two photo surveys."""
        return {"before": self.surveys.before, "after": self.surveys.after}


def _opened(surveys: Surveyed) -> Reef:
    app = create_app(surveys.team.programme)
    client = TestClient(app, base_url=LOCAL, headers=OWN, raise_server_exceptions=False)
    return Reef(surveys, client)


@pytest.fixture(scope="module")
def reef(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reef]:
    """Open surveys whose every record was read again; nothing here writes to them."""
    made = make_surveys(tmp_path_factory.mktemp("reef") / "p")
    yield _opened(made)
    made.team.programme.close()


@pytest.fixture(scope="module")
def unread(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reef]:
    """Open surveys without second readings."""
    made = make_surveys(tmp_path_factory.mktemp("unread") / "p", readings=False)
    yield _opened(made)
    made.team.programme.close()


def cover(counts: list[tuple[int, int]], which: int | None) -> float:
    """Percent cover by hand: means of four transects of ten points, weighted 3 to 1."""
    points = [sum(pair) if which is None else pair[which] for pair in counts]
    return 100 * (0.75 * sum(points[:4]) / 40 + 0.25 * sum(points[4:]) / 40)


def row_of(table: list[dict[str, str]], group: str, level: str = "survey") -> dict[str, str]:
    """Return one row of a table."""
    return next(one for one in table if one["group"] == group and one.get("level", level) == level)


def test_the_list_leads_to_each_survey_with_slates(reef: Reef) -> None:
    """Surveys with slates are links, one without is named, and the follower offers its change."""
    text = reef.get("/results")

    for survey in (reef.surveys.before, reef.surveys.after, reef.surveys.belt):
        assert f'href="/results/{survey}"' in text
    assert f'href="/results/{reef.surveys.empty}"' not in text
    assert "Reef 2027" in text
    pair = f"/results/change?before={reef.surveys.before}&amp;after={reef.surveys.after}"
    assert pair in text


def test_the_form_to_compare_begins_with_surveys_that_can_be(reef: Reef) -> None:
    """The surveys chosen at first are a survey and the one that it follows."""
    text = reef.get("/results")

    chosen = re.findall(r'<option value="(\w+)" selected>', text)

    assert chosen == [reef.surveys.before, reef.surveys.after]


def test_a_survey_says_its_cover_as_counted_by_hand(reef: Reef) -> None:
    """The table holds cover as said, equal to the mean by hand; the sentence says all coral."""
    table = reef.table(f"/results/{reef.surveys.before}/table.csv")

    for group, which in (("Porites", 0), ("Favites", 1), ("all stony coral", None)):
        said = float(row_of(table, group)["said"])
        assert said == pytest.approx(cover(BEFORE, which), rel=1e-5)
    words = reef.words(f"/results/{reef.surveys.before}")
    shown = re.search(r"Stony coral covers ([\d.]+) %", words)
    assert shown is not None
    assert float(shown.group(1)) == pytest.approx(cover(BEFORE, None), abs=0.05)


def test_what_was_found_to_be_another_genus_moves(reef: Reef) -> None:
    """A quarter of Favites was Dipsastraea: corrected cover moves between them, and no other."""
    table = reef.table(f"/results/{reef.surveys.before}/table.csv")

    favites, other = row_of(table, "Favites"), row_of(table, "Dipsastraea")
    all_coral = row_of(table, "all stony coral")

    # 3 of 12 read again: the share is a quarter, by definition of double sampling.
    assert float(favites["by_readings"]) == pytest.approx(0.75 * cover(BEFORE, 1), rel=1e-4)
    assert float(other["by_readings"]) == pytest.approx(0.25 * cover(BEFORE, 1), rel=1e-4)
    assert float(all_coral["by_readings"]) == pytest.approx(cover(BEFORE, None), rel=1e-4)


def test_both_figures_stand_side_by_side_with_their_share_of_names(reef: Reef) -> None:
    """A genus's row has what was said, the correction, and how much of its doubt names cause."""
    text = reef.get(f"/results/{reef.surveys.before}")

    row = next(one for one in text.split("<tr>") if "<i>Favites</i>" in one and "<td>" in one)
    cells = re.findall(r"<td.*?>(.*?)</td>", row)

    assert f"{cover(BEFORE, 1):.1f}" in cells[0]
    assert f"{0.75 * cover(BEFORE, 1):.1f}" in cells[1]
    assert "%" in cells[2]
    assert cells[3] == str(sum(pair[1] for pair in BEFORE))


def test_a_survey_without_readings_says_why_there_is_no_correction(unread: Reef) -> None:
    """Without second readings the page says so, and what to do."""
    words = unread.words(f"/results/{unread.surveys.before}")

    assert "has no second readings" in words
    assert "nothing corrects it yet" in words


def test_growth_forms_are_not_corrected_and_it_says_so(reef: Reef) -> None:
    """By form, the reason that names are no forms is given."""
    words = reef.words(f"/results/{reef.surveys.before}", by="form")

    assert "not of growth forms" in words
    assert "no form written" in words


def test_errors_come_only_when_asked_for(reef: Reef) -> None:
    """The first view has no column of observers' errors and a link to it; asked, it has."""
    path = f"/results/{reef.surveys.before}"

    assert "By the observers' errors too</th>" not in reef.get(path)
    assert "errors=1" in reef.get(path)
    assert "By the observers' errors too</th>" in reef.get(path, errors="1")


def test_a_site_has_figures_of_its_own(reef: Reef) -> None:
    """Site C's figures are its own two transects', and the page leads back to all sites."""
    site = reef.surveys.sites["Site C"]
    words = reef.words(f"/results/{reef.surveys.before}", site=site)

    hand = 10 * sum(sum(pair) for pair in BEFORE[4:6]) / 2
    assert f"{hand:.0f}" in words
    assert "at Site C" in words
    assert "all sites" in words


def test_a_map_shows_the_sites_that_have_a_position(reef: Reef) -> None:
    """Sites with a position are marks that lead to their figures; one without is named."""
    text = reef.get(f"/results/{reef.surveys.before}")

    figure = next(one for one in text.split("<figure>") if "navigation" in one)
    assert f"site={reef.surveys.sites['Site B']}" in unescape(figure)
    assert "No position: Site D." in figure


def test_no_text_of_a_person_is_taken_for_markup(reef: Reef) -> None:
    """A site's name with marks in it is written, never read, on pages and in pictures."""
    for path in ("", "/behind"):
        text = reef.get(f"/results/{reef.surveys.before}{path}")
        assert '<b>"reef"' not in text
        assert "&lt;b&gt;" in text


def test_no_cell_of_a_table_is_run_by_a_spreadsheet(reef: Reef) -> None:
    """A site named like a formula is written behind an apostrophe."""
    table = reef.table(f"/results/{reef.surveys.before}/table.csv")

    places = {one["place"] for one in table}
    assert f"'{FORMULA}" in places
    assert not any(place.startswith("=") for place in places)


def test_pictures_are_files_of_their_own(reef: Reef) -> None:
    """Both plots come as SVG that parses by itself, with a text for who can't see it."""
    for path, asked in (
        (f"/results/{reef.surveys.before}/plot.svg", {}),
        ("/results/change.svg", reef.change),
    ):
        picture = ET.fromstring(reef.get(path, **asked))  # noqa: S314  our own
        assert picture.tag == "{http://www.w3.org/2000/svg}svg"
        assert "Favites" in picture.attrib["aria-label"]


def test_every_plot_tells_what_it_shows(reef: Reef) -> None:
    """No picture on these pages is without a text of its own."""
    before, belt = reef.surveys.before, reef.surveys.belt
    paths = ("", "/diversity", "/effort")
    texts = [reef.get(f"/results/{before}{path}") for path in paths]
    texts += [reef.get(f"/results/{belt}/sizes"), reef.get("/results/change", **reef.change)]

    for text in texts:
        pictures = re.findall(r"<svg [^>]*>", text)
        assert pictures
        assert all(re.search(r'role="(img|group)" aria-label=["\'].{10,}', one) for one in pictures)


def test_the_records_behind_a_figure_are_all_there(reef: Reef) -> None:
    """Each record said to be Favites, or found to be, is a line of a slate with its photo."""
    path = f"/results/{reef.surveys.before}/behind"
    text = reef.get(path, group="Favites")

    expected = sum(pair[1] for pair in BEFORE)
    assert f"{expected} records" in text
    assert len(re.findall(r'href="/slates/\d+#line-\d+"', text)) == expected
    assert len(re.findall(r'<a [^>]*href="/photos/[0-9a-f]{64}/page"><img', text)) == expected
    assert text.count("not as said") == expected // 4


def test_what_was_found_leads_back_to_what_was_said(reef: Reef) -> None:
    """Behind Dipsastraea, which nobody said, stand the Favites that were found to be it."""
    path = f"/results/{reef.surveys.before}/behind"
    text = reef.get(path, group="Dipsastraea")

    assert text.count("not as said") == sum(pair[1] for pair in BEFORE) // 4


def test_sand_is_not_behind_stony_coral(reef: Reef) -> None:
    """Behind all stony coral stand the records of coral only, behind no group all records."""
    path = f"/results/{reef.surveys.before}/behind"

    corals = sum(sum(pair) for pair in BEFORE)
    assert f"{corals} records" in reef.words(path, group="all stony coral")
    assert f"{10 * len(BEFORE)} records" in reef.words(path)


@pytest.mark.parametrize(
    ("only", "shown"),
    [
        pytest.param("photo", 12, id="with a photo"),
        pytest.param("again", 12, id="read again"),
        pytest.param("otherwise", 3, id="not as said"),
    ],
)
def test_only_some_records_are_shown_if_asked_for(reef: Reef, only: str, shown: int) -> None:
    """Of 12 Favites all have a photo and were read again, and 3 were found to be another."""
    path = f"/results/{reef.surveys.before}/behind"
    text = reef.get(path, group="Favites", only=only)

    assert "12 records" in text
    assert len(re.findall(r"/slates/\d+#line-\d+", text)) == shown


def test_records_come_in_pages(reef: Reef) -> None:
    """80 records are two pages of 50 at most, no record on both."""
    path = f"/results/{reef.surveys.before}/behind"
    pages = [set(re.findall(r"/slates/\d+#line-\d+", reef.get(path, page=n))) for n in (1, 2)]

    assert [len(page) for page in pages] == [50, 30]
    assert not pages[0] & pages[1]


def test_records_of_one_site_are_of_that_site(reef: Reef) -> None:
    """Behind a site's figure stand the records of its two transects only."""
    site = reef.surveys.sites["Site B"]
    words = reef.words(f"/results/{reef.surveys.before}/behind", group="Porites", site=site)

    assert f"{BEFORE[2][0] + BEFORE[3][0]} records" in words
    assert "Site C" not in words


def test_change_is_the_difference_by_hand(reef: Reef) -> None:
    """The change of each genus is its cover after less before, as said."""
    table = reef.table("/results/change.csv", **reef.change)

    for group, which in (("Porites", 0), ("all stony coral", None)):
        hand = cover(AFTER, which) - cover(BEFORE, which)
        assert float(row_of(table, group)["said_change"]) == pytest.approx(hand, rel=1e-4)


def test_a_change_is_said_in_a_sentence(reef: Reef) -> None:
    """The page says by how much, between which surveys, how likely a decline, and pairs."""
    words = reef.words("/results/change", **reef.change)

    fall = cover(BEFORE, None) - cover(AFTER, None)
    assert f"From Reef 2025 to Reef 2026 the cover of stony coral fell by {fall:.1f}" in words
    assert "The chance that it fell by more than 20 % of what it was is" in words
    assert "each is compared with itself" in words
    assert "the same people read" not in words


def test_a_corrected_change_leads_to_records(reef: Reef) -> None:
    """Each corrected change is a link to the records behind it."""
    text = reef.get("/results/change", **reef.change)

    assert f"/results/{reef.surveys.after}/behind?group=Favites" in unescape(text)
    assert f"/results/{reef.surveys.before}/behind?group=Favites" in unescape(text)


def test_impact_sites_are_set_against_the_others(reef: Reef) -> None:
    """The contrast is the mean change at impact sites less that at the others, by hand."""
    sites = reef.surveys.sites
    impact = [sites[FORMULA], sites["Site B"]]
    moved = [10 * (sum(b) - sum(a)) for a, b in zip(BEFORE, AFTER, strict=True)]
    hand = sum(moved[:4]) / 4 - sum(moved[4:]) / 4
    words = reef.words("/results/change", **reef.change, impact=impact)
    said = f"changed by −{-hand:.1f} percentage points more at the 2 impact sites"
    assert said in words


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        pytest.param({"fall": "120"}, "0 to 99 percent", id="a fall beyond all"),
        pytest.param({"fall": "much"}, "expected a number", id="no number"),
        pytest.param({"by": "form"}, "genus or family", id="by form"),
        pytest.param({"impact": "one"}, "2 impact sites", id="one impact site"),
    ],
)
def test_a_change_that_cannot_be_told_says_what_to_do(
    reef: Reef, asked: dict[str, str], said: str
) -> None:
    """A question that can't be answered is refused in words, never by a failure."""
    answer = reef.client.get("/results/change", params={**reef.change, **asked})

    assert answer.status_code == 422
    assert said in unescape(answer.text)


def test_a_survey_is_not_compared_with_itself(reef: Reef) -> None:
    """The same survey twice is refused."""
    before = reef.surveys.before
    answer = reef.client.get("/results/change", params={"before": before, "after": before})

    assert answer.status_code == 422
    assert "another survey" in answer.text


def test_diversity_counts_the_genera_met(reef: Reef) -> None:
    """Two genera were said; the page says it, and that none was met only once."""
    words = reef.words(f"/results/{reef.surveys.before}/diversity")

    assert "2 genera of stony coral were met" in words
    assert "No genus was met once only" in words
    assert "Hill number of order 2" in words
    assert "2 genera on 8 transects" in words


@pytest.mark.parametrize(
    ("by", "said"),
    [
        pytest.param("family", "2 families of stony coral were met", id="family"),
        pytest.param("genus", "2 genera on 8 transects", id="genus"),
    ],
)
def test_diversity_is_of_what_is_asked_for(reef: Reef, by: str, said: str) -> None:
    """Porites and Favites are of two families; each stratum and each site has its row."""
    words = reef.words(f"/results/{reef.surveys.before}/diversity", by=by)

    assert said in words
    for place in ("shallow", "deep", "Site B", "Site D"):
        assert place in words


def test_forms_that_nobody_wrote_are_refused_in_words(reef: Reef) -> None:
    """Where no record tells a form, its diversity can't be reckoned, and it says why."""
    path = f"/results/{reef.surveys.before}/diversity"
    answer = reef.client.get(path, params={"by": "form"})

    assert answer.status_code == 422
    assert "records that tell a form" in answer.text


def test_a_genus_met_once_is_told_apart(reef: Reef) -> None:
    """On the belts Acropora was met twice and no genus once; nothing is left unnamed."""
    words = reef.words(f"/results/{reef.surveys.belt}/diversity")

    assert "3 genera" in words
    assert "Every record of stony coral was named to genus" in words


def test_sizes_are_counted_by_class(reef: Reef) -> None:
    """Seven diameters of the belts: median 12 cm, two juveniles, which is size and not age."""
    words = reef.words(f"/results/{reef.surveys.belt}/sizes")

    # 3 4 9 12 22 30 50: the fourth is 12, and two of seven are no larger than 5 cm.
    assert "Half of 7 colonies are 12.0 cm across or less" in words
    assert "29 % are juveniles" in words
    assert "not their age" in words
    assert "0 to 5 cm 2 " in words


def test_a_survey_without_sizes_says_so(reef: Reef) -> None:
    """Photo points have no diameters: the page says it and what to write."""
    words = reef.words(f"/results/{reef.surveys.before}/sizes")

    assert "There are no sizes to show" in words
    assert "Write diameters" in words


def test_a_density_is_said_per_square_metre(reef: Reef) -> None:
    """Seven colonies on three belts of 10 by 1 m are 0.233 per square metre."""
    words = reef.words(f"/results/{reef.surveys.belt}")

    assert "There are 0.233" in words
    assert "colonies of stony coral per m²" in words


def test_the_next_survey_takes_transects(reef: Reef) -> None:
    """Twice as exact takes four times the transects, where points are all there is to it."""
    path = f"/results/{reef.surveys.before}/effort"
    needed = [
        int(re.findall(r"it takes (\d+) transects", reef.words(path, half_width=half))[0])
        for half in ("6", "3")
    ]

    # n = variance / se^2 (Cochran 1977, section 4.7), rounded up.
    assert 4 * (needed[0] - 1) < needed[1] <= 4 * needed[0]


def test_the_next_survey_tells_what_its_doubt_is_made_of(reef: Reef) -> None:
    """The four parts are named with what lessens each, and the trade is a picture."""
    text = reef.get(f"/results/{reef.surveys.before}/effort", group="Favites", half_width="5")

    for part in ("reef between transects", "Points within", "Observers who differ", "Names"):
        assert part in text
    assert "twice the second readings" in text


def test_a_wish_that_no_number_of_transects_meets_is_told(reef: Reef) -> None:
    """Where names alone are too unsure, it says that no number of transects will do."""
    words = reef.words(
        f"/results/{reef.surveys.before}/effort", group="Favites", half_width="0.5"
    )  # fmt: skip

    assert "No number of transects will do" in words
    assert "second readings" in words


@pytest.mark.parametrize("page", ["", "/diversity", "/sizes", "/effort", "/table.csv", "/plot.svg"])
def test_a_survey_without_slates_says_what_to_do(reef: Reef, page: str) -> None:
    """Without slates every page answers in words with what to do."""
    answer = reef.client.get(f"/results/{reef.surveys.empty}{page}")

    assert answer.status_code == 422
    assert "slates" in answer.text


@pytest.mark.parametrize("page", ["", "/behind", "/diversity", "/sizes", "/effort", "/table.csv"])
def test_what_is_no_survey_is_not_here(reef: Reef, page: str) -> None:
    """An id of nothing, or of a site, is answered by Not here."""
    for id_ in ("0123456789ab", "x", reef.surveys.sites["Site B"]):
        answer = reef.client.get(f"/results/{id_}{page}")
        assert answer.status_code in (404, 422)


def test_a_line_left_out_counts_no_more(tmp_path: Path) -> None:
    """After a slate is left out, figures and records are of the others, at once."""
    made = make_surveys(tmp_path / "p", readings=False)
    reef = _opened(made)
    path = f"/results/{made.before}"
    was = int(row_of(reef.table(f"{path}/table.csv"), "Porites")["records"])
    assert f"{was} records" in reef.words(f"{path}/behind", group="Porites")
    flag = next(
        one for one in flags_of_survey(made.team.programme, made.before) if one.flag.line is None
    )
    gone = AnswerFlag(flag.flag.slate, None, flag.flag.rule, "left_out", "surge")
    answer_flag(made.team.programme, gone, *made.team.by(made.team.lead))

    now = int(row_of(reef.table(f"{path}/table.csv"), "Porites")["records"])
    words = reef.words(f"{path}/behind", group="Porites")
    made.team.programme.close()

    assert was == sum(pair[0] for pair in BEFORE)
    assert was - now in {pair[0] for pair in BEFORE}
    assert f"{now} records" in words
