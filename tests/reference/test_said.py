"""What a word on a slate means today."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import support
from corallum.errors import UnknownNameError
from corallum.records.benthos import (
    GENUS,
    LIFE_FORMS,
    OTHER,
    OTHER_COVER,
    UNIDENTIFIED,
    UNREADABLE,
    is_doubted,
    is_living_coral,
)
from corallum.reference.said import Said, SaidResolver, SplitNameError


def said(text: str, *regions: str, **meanings: str) -> Said:
    """What a word means in a programme of these regions."""
    return SaidResolver(support.library().reference, regions, meanings).resolve(text)


# Life-form codes: English, Wilkinson & Baker 1997, from memory.
@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        pytest.param("ACT", Said("Acropora", GENUS, "tabular"), id="code of Acropora"),
        pytest.param("CM", Said("stony coral", UNIDENTIFIED, "massive"), id="code of a form"),
        pytest.param("CMR", Said("stony coral", UNIDENTIFIED, "free_living"), id="mushroom coral"),
        pytest.param("CME", Said("Millepora", GENUS), id="code of a genus"),
        pytest.param("SC", Said("soft coral", OTHER), id="soft coral"),
        pytest.param("DC", Said("recently dead coral", OTHER), id="dead coral"),
        pytest.param("WA", Said("unreadable", UNREADABLE), id="water"),
        pytest.param("Porites", Said("Porites", GENUS), id="genus"),
        pytest.param("  porites\tLOBATA ", Said("Porites", GENUS), id="species in any case"),
        pytest.param("Porites spp.", Said("Porites", GENUS), id="several species"),
        pytest.param("Acropora sp. (recruit)", Said("Acropora", GENUS), id="no species"),
        pytest.param("Porites cf. lobata", Said("Porites", GENUS), id="species doubted"),
        pytest.param("Porites aff. lobata", Said("Porites", GENUS), id="near a species"),
        pytest.param("Porites lobata?", Said("Porites", GENUS), id="species questioned"),
        pytest.param("cf. Porites", Said("Porites", GENUS, doubtful=True), id="genus compared"),
        pytest.param("Cf Porites lobata", Said("Porites", GENUS, doubtful=True), id="no point"),
        pytest.param("aff. Porites", Said("Porites", GENUS, doubtful=True), id="near a genus"),
        pytest.param("Porites?", Said("Porites", GENUS, doubtful=True), id="genus questioned"),
        pytest.param("Porites ? lobata", Said("Porites", GENUS, doubtful=True), id="apart"),
        pytest.param("? Porites", Said("Porites", GENUS, doubtful=True), id="question before"),
        pytest.param("Porites cf.", Said("Porites", GENUS, doubtful=True), id="nothing after"),
        pytest.param("merulinidae", Said("Merulinidae", UNIDENTIFIED), id="family"),
        pytest.param("Hard_Coral", Said("stony coral", UNIDENTIFIED), id="coral"),
        pytest.param("Scleractinia", Said("stony coral", UNIDENTIFIED), id="order"),
        pytest.param("Turf  Algae", Said("turf algae", OTHER), id="cover"),
        pytest.param("shadow", Said("unreadable", UNREADABLE), id="shadow"),
        pytest.param("Diaseris sp.", Said("Cycloseris", GENUS, older="Diaseris"), id="older"),
        pytest.param("Turbinaria", Said("Turbinaria", GENUS), id="coral of that name"),
        pytest.param("Turbinaria ornata (macroalgae)", Said("macroalgae", OTHER), id="seaweed"),
        pytest.param("Lithothamnion (Coralline algae)", Said("coralline algae", OTHER),
                     id="remark in capitals"),
        pytest.param("Turbinaria (brown)", Said("Turbinaria", GENUS), id="remark of no cover"),
    ],
)  # fmt: skip
def test_a_word_has_its_meaning(text: str, wanted: Said) -> None:
    """Codes, genera with marks of doubt, families, cover and older names mean one thing each."""
    assert said(text) == wanted


@pytest.mark.parametrize(
    "text",
    ["", " ", "?", "cf.", "sp.", "Poritez", "Favia/Favites", "acb", "(macroalga)", "ﬀ", "a" * 9999],
)
def test_an_unknown_word_is_refused(text: str) -> None:
    """A word that nothing is known by is refused, never guessed at."""
    with pytest.raises(UnknownNameError) as caught:
        said(text)
    assert not isinstance(caught.value, SplitNameError)


def test_an_unknown_word_is_answered_with_the_nearest() -> None:
    """A misspelt genus, with its species, is answered with the genus it is nearest to."""
    with pytest.raises(UnknownNameError) as caught:
        said("Poritez lobatta")
    assert caught.value.name == "Poritez lobatta"
    assert "Porites" in caught.value.nearest


# Budd et al. 2012 and Huang et al. 2014: Favia is Atlantic alone; what bore the name in the
# Indo-Pacific is Dipsastraea, in part Goniastrea and Favites.
def test_a_split_is_settled_by_the_region_or_asked_for() -> None:
    """Favia stands in the Atlantic; in the Indo-Pacific somebody has to say which is meant."""
    assert said("Favia fragum", "atlantic") == Said("Favia", GENUS)
    with pytest.raises(SplitNameError) as caught:
        said("Favia pallida", "indo_pacific")
    assert {"Dipsastraea", "Goniastrea", "Favites"} == set(caught.value.nearest)
    assert said("Favia pallida", "indo_pacific", Favia="Dipsastraea") == Said(
        "Dipsastraea", GENUS, older="Favia"
    )


# Huang et al. 2016: Symphyllia is Lobophyllia, in part Australophyllia, which lives off
# Australia alone.
def test_one_part_of_a_split_in_a_region_settles_it() -> None:
    """Where one genus of a split lives in the programme's regions, it is that one."""
    assert said("Symphyllia", "red_sea") == Said("Lobophyllia", GENUS, older="Symphyllia")
    with pytest.raises(SplitNameError):
        said("Symphyllia", "red_sea", "indo_pacific")


def test_meanings_are_followed() -> None:
    """What was answered for a word, or for a genus name in it, is used in any case."""
    words = {"carbonate": "rock", "Sand & Rubble": "rubble", "Favia": "Favia", "DSR": "Faviidae"}
    assert said("CARBONATE ", **words) == Said("rock", OTHER)
    assert said("sand &  rubble", **words) == Said("rubble", OTHER)
    assert said("cf. Favia", "indo_pacific", **words) == Said("Favia", GENUS, doubtful=True)
    assert said("S", S="soft coral") == Said("soft coral", OTHER)
    assert said("Favia sp.", Favia="merulinidae") == Said(
        "Merulinidae", UNIDENTIFIED, older="Favia"
    )
    with pytest.raises(UnknownNameError) as caught:
        said("dsr", **words)
    assert (caught.value.kind, caught.value.name) == ("meaning", "Faviidae")


def test_every_code_and_choice_means_itself() -> None:
    """Each choice that a slate offers is a word that resolves to itself."""
    words = SaidResolver(support.library().reference)
    assert [words.resolve(choice).label for choice in words.choices] == list(words.choices)
    for code, form in LIFE_FORMS.items():
        found = words.resolve(code)
        assert (found.label, found.kind, found.form) == (form.label, form.kind, form.growth_form)
        assert is_living_coral(found.kind) == (form.kind in (GENUS, UNIDENTIFIED))


GENERA = st.deferred(lambda: st.sampled_from(sorted(support.library().reference.entries.genera)))
TAILS = st.sampled_from(["", " sp.", " spp", " sp. 2", " indet.", " lobata", " cf. lobata"])


@given(GENERA, TAILS, st.sampled_from(["", " ", "\t"]), st.booleans())
def test_a_genus_of_today_is_itself(genus: str, tail: str, blank: str, loud: bool) -> None:
    """Without regions a genus in use means itself, whatever follows it and in any case."""
    text = f"{blank}{genus}{tail}{blank}"
    assert said(text.upper() if loud else text).label == genus


@given(GENERA, TAILS, st.sampled_from(["cf. {}", "{}?", "? {}", "aff. {}"]))
def test_doubt_changes_no_label(genus: str, tail: str, mark: str) -> None:
    """A mark of doubt on a genus is told, and leaves its label as it is."""
    found = said(mark.format(genus) + tail)
    assert (found.label, found.doubtful) == (genus, True)
    assert not is_doubted(genus + tail)


@given(GENERA, st.sampled_from(OTHER_COVER))
def test_a_remark_of_other_cover_decides(genus: str, cover: str) -> None:
    """A name with other cover in brackets is that cover, whatever the name."""
    assert said(f"{genus} sp. ({cover})") == Said(cover, OTHER)


@given(st.text(max_size=30), GENERA)
def test_a_meaning_goes_before_all_else(word: str, genus: str) -> None:
    """Any word that has a meaning means that, and nothing else changes it."""
    words = SaidResolver(support.library().reference, (), {word: genus})
    assert words.resolve(word).label == genus


@given(st.text(max_size=40))
def test_any_text_is_known_or_refused(text: str) -> None:
    """Any text has a label that may be chosen, or is refused; asked twice it says the same."""
    words = SaidResolver(support.library().reference, ("indo_pacific",))
    try:
        first = words.resolve(text)
    except UnknownNameError:
        with pytest.raises(UnknownNameError):
            words.resolve(text)
        return
    assert first.label in words.choices
    assert words.resolve(text) == first
