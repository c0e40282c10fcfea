"""Names in open nomenclature, as Sigovini, Keppel & Tagliapietra 2016 describe their signs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.exchange.open_names import (
    DOUBTS,
    SIGNS,
    OpenName,
    parse_open_name,
    write_open_name,
)
from corallum.records.benthos import is_doubted

_capital = st.from_regex(r"[A-Z][a-z]{2,12}(-[a-z]{2,6})?", fullmatch=True)
_signs = {"cf", "aff", "sp", "spp", "indet", "stet", "inc"}
_small = st.from_regex(r"[a-z]{2,12}", fullmatch=True).filter(lambda word: word not in _signs)
_sign = st.sampled_from(("", *SIGNS))


@st.composite
def _open_names(draw: st.DrawFn) -> OpenName:
    """Draw a name with any signs that may stand together."""
    kind = draw(st.sampled_from(("genus", "species", "words")))
    doubt, sign = draw(st.sampled_from(("", *DOUBTS))), draw(_sign)
    if kind == "words":
        name = " ".join(draw(st.lists(_small, min_size=1, max_size=3)))
        return OpenName(name, doubt=doubt, sign=sign)
    name = draw(_capital.filter(lambda word: word.casefold() not in _signs))
    if kind == "species":
        of_species = draw(st.booleans()) and bool(doubt)
        return OpenName(name, draw(_small), doubt, of_species, sign=sign)
    species = draw(st.sampled_from(("", "sp.", "spp.")))
    mark = draw(st.sampled_from(("", "1", "12b", "A", "B2"))) if species else ""
    return OpenName(name, "", doubt, species=species, mark=mark, sign=sign)


@given(_open_names())
def test_what_is_written_is_read_back_the_same(name: OpenName) -> None:
    """Writing a name and reading it gives the same name."""
    assert parse_open_name(write_open_name(name)) == name


@given(_open_names())
def test_the_plain_name_holds_no_sign(name: OpenName) -> None:
    """No word of doubt and no sign is left in the plain name."""
    words = set(name.plain.split())

    assert not words & {*DOUBTS, *SIGNS, "sp.", "spp."}


@given(_open_names())
def test_the_doubt_is_of_the_same_thing_as_on_a_slate(name: OpenName) -> None:
    """A genus is doubted here exactly where a slate with the same words doubts it."""
    doubted = bool(name.doubt) and not name.of_species

    assert is_doubted(write_open_name(name)) == doubted


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param("Acropora", OpenName("Acropora"), id="genus"),
        pytest.param("Acropora sp.", OpenName("Acropora", species="sp."), id="one species of it"),
        pytest.param("Acropora spp", OpenName("Acropora", species="spp."), id="without its point"),
        pytest.param(
            "Acropora sp. 1", OpenName("Acropora", species="sp.", mark="1"), id="which of several"
        ),
        pytest.param(
            "Acropora sp. stet.", OpenName("Acropora", species="sp.", sign="stet."), id="left so"
        ),
        pytest.param(
            "Acropora sp. indet.", OpenName("Acropora", species="sp.", sign="indet."), id="no more"
        ),
        pytest.param("cf. Acropora", OpenName("Acropora", doubt="cf."), id="genus compared"),
        pytest.param("Acropora cf.", OpenName("Acropora", doubt="cf."), id="compared, after it"),
        pytest.param("?Acropora", OpenName("Acropora", doubt="?"), id="mark touches the genus"),
        pytest.param("Acropora?", OpenName("Acropora", doubt="?"), id="mark after the genus"),
        pytest.param(
            "Acropora aff. hyacinthus", OpenName("Acropora", "hyacinthus", "aff.", of_species=True),
            id="species related",
        ),
        pytest.param(
            "Acropora hyacinthus ?", OpenName("Acropora", "hyacinthus", "?", of_species=True),
            id="species doubted",
        ),
        pytest.param(
            "Acropora ? hyacinthus", OpenName("Acropora", "hyacinthus", "?"), id="genus doubted"
        ),
        pytest.param("Merulinidae indet.", OpenName("Merulinidae", sign="indet."), id="family"),
        pytest.param("stony coral indet.", OpenName("stony coral", sign="indet."), id="no name"),
        pytest.param("Merulinidae inc.", OpenName("Merulinidae", sign="inc."), id="unsure where"),
    ],
)  # fmt: skip
def test_signs_are_read_as_their_authors_mean_them(text: str, expected: OpenName) -> None:
    """Each sign of open nomenclature goes where it belongs."""
    assert parse_open_name(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("", id="nothing"),
        pytest.param("cf.", id="a sign alone"),
        pytest.param("cf. Acropora aff. hyacinthus", id="two doubts"),
        pytest.param("Acropora sp. hyacinthus", id="sp. before an epithet"),
        pytest.param("Acropora 1", id="a mark without sp."),
        pytest.param("stony coral sp.", id="sp. of no genus"),
        pytest.param("Acropora indet. stet.", id="two signs"),
        pytest.param("=Acropora", id="no letters"),
        pytest.param("Acropora" * 100, id="very long"),
    ],
)
def test_what_is_no_name_is_refused_with_an_example(text: str) -> None:
    """Anything else is a fault that shows how a name is written."""
    with pytest.raises(InputError, match="expected a name such as Acropora sp"):
        parse_open_name(text)
