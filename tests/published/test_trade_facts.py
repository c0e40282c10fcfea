"""Facts of the trade that the answers must respect.

Common practice, no source, unless a test names one.
"""

from __future__ import annotations

import pytest

from corallum.model.contrast import contrast_genera
from corallum.model.errors import Observer
from corallum.model.likelihood import Kernel
from corallum.reference.values import StateWords
from support import answer, compiled, leader, library, probability


def words(genus: str, form: str, character: str) -> dict[str, str]:
    """Frequency words of one cell."""
    value = library().reference.entries.values[genus, form, character].value
    assert isinstance(value, StateWords)
    return dict(value.words)


def forms_with(genus: str, character: str, state: str) -> list[str]:
    """Forms of a genus in which a state is at least sometimes shown."""
    shown = ("always", "usually", "often", "sometimes")
    return [
        form.id for form in library().reference.forms_of(genus)
        if (genus, form.id, character) in library().reference.entries.values
        and words(genus, form.id, character).get(state, "never") in shown
    ]  # fmt: skip


def test_one_axial_corallite_a_branch_is_nearly_always_acropora() -> None:
    """Branches with one axial corallite each are Acropora, nearly always."""
    seen = {"growth_form": "branching", "axial_corallite": "single", "region": "indo_pacific"}
    assert leader(answer(**seen)) == "Acropora"
    assert probability(answer(**seen, observer=Observer.EXACT), "Acropora") > 0.9


def test_isopora_may_show_several_axial_corallites_or_one() -> None:
    """Isopora shows several axial corallites, or one with others (Wallace et al. 2007)."""
    assert forms_with("Isopora", "axial_corallite", "multiple")
    assert forms_with("Isopora", "axial_corallite", "single")
    found = answer(growth_form="branching", axial_corallite="multiple", region="indo_pacific",
                   observer=Observer.EXACT)  # fmt: skip
    assert leader(found) in ("Isopora", "Acropora")
    assert probability(found, "Isopora") > 0.3


def test_cyphastrea_has_a_branching_form_with_an_axial_corallite() -> None:
    """One small-corallite, finely beaded genus (Cyphastrea) has a branching form with one too."""
    assert "branching" in forms_with("Cyphastrea", "axial_corallite", "single")


def test_young_acropora_may_show_no_axial_corallite() -> None:
    """Encrusting and young Acropora may show none."""
    assert forms_with("Acropora", "axial_corallite", "absent")


def test_pores_of_two_sizes_and_hairs_are_no_scleractinian() -> None:
    """Minute pores of two sizes and fine hairs: not a scleractinian."""
    found = answer(openings="pores_two_sizes", fine_hairs="present", region="indo_pacific")
    order = dict(zip(compiled().genera, compiled().orders, strict=True))
    hard = sum(
        c.probability for c in found.candidates if c.genus and order[c.genus] == "Scleractinia"
    )
    assert leader(found) == "Millepora"
    assert hard < 0.05


def test_millepora_stings_and_the_answer_says_so() -> None:
    """Millepora stings, and its answer shows the caution."""
    found = answer(openings="pores_two_sizes", fine_hairs="present", region="indo_pacific")
    assert any("sting" in caution and "dive supervisor" in caution for caution in found.cautions)


def test_heliopora_is_blue_inside_and_nobody_is_told_to_break_it() -> None:
    """Heliopora has a blue skeleton, seen only where broken or dead: never break it."""
    assert len(forms_with("Heliopora", "skeleton_colour", "blue")) >= 1
    # Richards et al. 2018: H. hiberniana has a white skeleton.
    assert len(forms_with("Heliopora", "skeleton_colour", "white")) >= 1
    found = answer(skeleton_colour="blue", region="indo_pacific")
    assert leader(found) == "Heliopora"
    assert any("Never break" in caution for caution in found.cautions)


def test_isopora_grows_as_blades_or_columns() -> None:
    """Some Isopora grow as blades and columns where surge is strong."""
    blades = [
        form.id for form in library().reference.forms_of("Isopora")
        if {"columnar", "submassive"} & set(words("Isopora", form.id, "growth_form"))
    ]  # fmt: skip
    assert blades


@pytest.mark.parametrize(
    "genus", ["Montipora", "Echinopora", "Leptoseris", "Mycedium", "Turbinaria"]
)
def test_thin_plates_can_grow_as_a_skin_over_another_shape(genus: str) -> None:
    """A thin-plate genus seen as branches because it overgrows something is not ruled out."""
    plain = {"corallite_arrangement": _arrangement(genus), "region": "indo_pacific"}
    odd = answer(**plain, growth_form="branching", conditions=("overgrowing",))
    unsaid = answer(**plain, growth_form="branching")
    assert probability(odd, genus) > 0.2 * probability(answer(**plain), genus)
    assert probability(odd, genus) > 0.001
    assert probability(unsaid, genus) > 1e-5


def _arrangement(genus: str) -> str:
    """Commonest corallite arrangement of the first form of a genus."""
    shown = words(genus, library().reference.forms_of(genus)[0].id, "corallite_arrangement")
    order = ("always", "usually", "often", "sometimes", "rarely")
    return min(shown, key=lambda state: order.index(shown[state]))


@pytest.mark.parametrize("genus", ["Fungia", "Danafungia", "Lobactis", "Herpolitha", "Ctenactis"])
def test_young_mushroom_corals_sit_on_stalks(genus: str) -> None:
    """The young of free-living mushroom corals sit on stalks."""
    assert forms_with(genus, "attachment", "stalked")
    assert forms_with(genus, "attachment", "free")


def test_tiny_plates_of_porites_and_montipora_need_a_lens() -> None:
    """Plates of Porites and Montipora look alike by eye, a lens helps, the skeleton decides."""
    by_eye = answer(growth_form="laminar", calice_diameter_mm=0.7, region="indo_pacific")
    assert {"Porites", "Montipora"} <= {c.genus for c in by_eye.candidates[:4]}
    pair = tuple(compiled().genera.index(name) for name in ("Porites", "Montipora"))
    right = {
        c.character: c.right for c in contrast_genera(Kernel(compiled(), Observer.EXACT), *pair)
    }
    lens = max(right[id_] for id_ in ("columella", "septa_relief", "coenosteum_texture"))
    assert lens > 0.75
    assert right["septal_structure"] > 0.9


def test_orange_cave_corals_without_algae_are_dendrophylliids() -> None:
    """Bright orange cups in a cave are dendrophylliids."""
    found = answer(living_colour="bright_orange_or_yellow", habitat="overhang_or_cave",
                   corallite_arrangement="plocoid", region="indo_pacific",
                   observer=Observer.EXACT)  # fmt: skip
    family = sum(c.probability for c in found.candidates if c.family == "Dendrophylliidae")
    assert family > 0.9


def test_goniopora_has_twice_the_tentacles_of_alveopora() -> None:
    """Long polyps with 24 tentacles are Goniopora, with 12 Alveopora (from memory)."""
    many = answer(day_expansion="long_polyps", tentacle_count="twenty_four", region="indo_pacific")
    few = answer(day_expansion="long_polyps", tentacle_count="twelve", region="indo_pacific")
    assert leader(many) == "Goniopora"
    assert probability(few, "Alveopora") > 5 * probability(many, "Alveopora")


def test_an_odd_shape_never_rules_out_the_right_genus() -> None:
    """A shape that a genus never shows lowers its odds by less than a thousand to one."""
    evidence = {"corallite_arrangement": "meandroid", "valley_width_mm": 5, "septal_teeth": "spiny",
                "region": "indo_pacific"}  # fmt: skip
    before = probability(answer(**evidence), "Platygyra")
    after = probability(answer(**evidence, growth_form="branching"), "Platygyra")
    assert after > before / 1000
