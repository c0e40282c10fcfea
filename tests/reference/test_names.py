"""Older names lead to the genera of today, one or several."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from corallum.actions.references import Library, find_genus
from corallum.errors import UnknownNameError
from corallum.reference.names import nearest_genera, resolve_name

DATA = Path(__file__).parents[3] / "shared" / "data"
open_data = pytest.mark.skipif(
    not DATA.is_dir(), reason="the open data are not beside this checkout (../shared/data)"
)

# Where a revision moved a genus, from the paper named.
SPLITS = (
    # Budd et al. 2012 and Huang et al. 2014: Indo-Pacific Favia is Dipsastraea, F. stelligera
    # Goniastrea; F. rotundata is Favites in the World Register as matched about 2016 to 2018.
    pytest.param("Favia", True, {"Favia", "Dipsastraea", "Goniastrea", "Favites"}, id="Favia"),
    # Budd et al. 2012 and Huang et al. 2014: M. cavernosa alone keeps the name.
    pytest.param(
        "Montastraea",
        True,
        {"Montastraea", "Orbicella", "Astrea", "Favites", "Paramontastraea"},
        id="Montastraea",
    ),
    # Gittenberger et al. 2011, subgenera raised to genera.
    pytest.param(
        "Fungia", True, {"Fungia", "Danafungia", "Lobactis", "Pleuractis", "Lithophyllon"},
        id="Fungia",
    ),
    # Huang et al. 2016.
    pytest.param("Symphyllia", False, {"Lobophyllia", "Australophyllia"}, id="Symphyllia"),
    # Luzon et al. 2017.
    pytest.param("Euphyllia", True, {"Euphyllia", "Fimbriaphyllia"}, id="Euphyllia"),
    # Arrigoni et al. 2014.
    pytest.param("Turbinaria", True, {"Turbinaria", "Duncanopsammia"}, id="Turbinaria"),
    # Budd et al. 2012.
    pytest.param("Diploria", True, {"Diploria", "Pseudodiploria"}, id="Diploria"),
)  # fmt: skip


@pytest.mark.parametrize(("name", "current", "genera"), SPLITS)
def test_a_split_name_leads_to_every_part(
    library: Library, name: str, *, current: bool, genera: set[str]
) -> None:
    """A name that was split leads to all its parts, and says whether it is still in use."""
    resolved = resolve_name(library.reference, name)
    assert resolved.current == current
    assert genera <= set(resolved.genera)


def test_a_name_in_use_comes_first(library: Library) -> None:
    """Where the name itself is in use it leads the list, and none stands twice."""
    genera = resolve_name(library.reference, "Favia").genera
    assert genera[0] == "Favia"
    assert len(set(genera)) == len(genera)


def test_a_name_moved_as_a_whole_leads_to_one(library: Library) -> None:
    """Diaseris is Cycloseris as a whole (Gittenberger et al. 2011)."""
    resolved = resolve_name(library.reference, "Diaseris")
    assert (resolved.current, resolved.genera) == (False, ("Cycloseris",))


@pytest.mark.parametrize("name", ["favia", "FAVIA", "  Favia\n", "fAvIa"])
def test_a_name_is_read_in_any_case(library: Library, name: str) -> None:
    """Case and blanks around a name mean nothing."""
    assert resolve_name(library.reference, name) == resolve_name(library.reference, "Favia")


@pytest.mark.parametrize("name", ["", " ", "Favya", "Zzz", "Favia sp.", "ﬀ", "İ", "a" * 10_000])
def test_an_unknown_name_is_refused(library: Library, name: str) -> None:
    """A name that no table holds is refused, never guessed at."""
    with pytest.raises(UnknownNameError):
        resolve_name(library.reference, name)


def test_a_misspelt_name_is_answered_with_the_nearest(library: Library) -> None:
    """The whole message names what is near, each once."""
    with pytest.raises(UnknownNameError) as caught:
        resolve_name(library.reference, "Lobofyllia")
    assert str(caught.value).startswith("unknown genus 'Lobofyllia'. Did you mean Lobophyllia")
    assert len(set(caught.value.nearest)) == len(caught.value.nearest) == 3


def test_the_nearest_names_keep_their_order(library: Library) -> None:
    """A misspelling of one letter finds the name it was meant to be first."""
    assert nearest_genera(library.reference, "Montiporra")[0] == "Montipora"


def test_one_genus_is_asked_for_and_several_are_refused(library: Library) -> None:
    """Symphyllia means several genera today, so it can't stand for one (Huang et al. 2016)."""
    with pytest.raises(UnknownNameError) as caught:
        find_genus(library, "Symphyllia")
    assert {"Lobophyllia", "Australophyllia"} <= set(caught.value.nearest)


def test_an_older_name_of_one_genus_stands_for_it(library: Library) -> None:
    """Barabattoia is Dipsastraea (Huang et al. 2014)."""
    assert find_genus(library, "Barabattoia") == "Dipsastraea"


def moves(file: str, old: str, new: str, what: str) -> list[tuple[str, str, str]]:
    """Moves between genera in a table of the open data."""
    with (DATA / file).open(encoding="utf-8", newline="") as stream:
        return [(row[old], row[new], row[what]) for row in csv.DictReader(stream)]


def missed(library: Library, found: list[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    """Moves to a genus of the reference to which the older name does not lead."""
    misses = []
    for old, new, species in found:
        if new not in library.reference.entries.genera or old == new:
            continue
        try:
            genera = resolve_name(library.reference, old).genera
        except UnknownNameError:
            genera = ()
        if new not in genera:
            misses.append((old, new, species))
    return misses


@open_data
def test_every_move_of_the_revisions_resolves(library: Library) -> None:
    """Every split and merger of the revisions (papers named in each row) leads to its genus."""
    found = moves("genus_reassignments_literature.csv", "genus_old", "genus_new", "which")
    misses = missed(library, found)
    print("\nmissed:", misses)
    assert len(found) > 10
    assert misses == []


@open_data
def test_every_move_of_the_register_resolves(library: Library) -> None:
    """Every move in the register as matched about 2016 to 2018 (Carturan et al.) resolves.

    Where a paper moved the same species the other way, the reference follows the paper.
    """
    found = moves("genus_reassignments.csv", "genus_given", "genus_accepted", "examples")
    misses = missed(library, found)
    print("\nmissed:", misses)
    assert len(found) > 50
    assert [miss for miss in misses if not moved_back(library, *miss)] == []


def moved_back(library: Library, old: str, new: str, species: str) -> bool:
    """Whether the reference moves each of the species from ``new`` to ``old``, by a paper."""
    back = [
        item.which
        for item in library.reference.entries.names
        if (item.older_name, item.genus) == (new, old) and item.source not in ("memory", "common")
    ]
    epithets = [name.split()[1] for name in species.split("|")]
    return all(any(epithet in which for which in back) for epithet in epithets)
