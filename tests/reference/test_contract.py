"""The ids, states and genera that others rely on."""

from __future__ import annotations

import csv

import pytest

from corallum.model.evidence import state_columns
from corallum.reference.reference import coverage
from species_facts import DATA
from support import compiled, library

# Characters of the plan: states, and how they are seen. Sizes have no states.
CONTRACT = {
    "attachment": ("attached stalked free not_seen", "w"),
    "growth_form": (
        "massive submassive encrusting laminar foliaceous tabular columnar digitate branching "
        "solitary free_living",
        "w",
    ),
    "branch_habit": ("arborescent caespitose corymbose hispidose", "w"),
    "corallite_arrangement": (
        "plocoid cerioid phaceloid dendroid meandroid flabello_meandroid hydnophoroid "
        "thamnasterioid polystomatous solitary pores",
        "w",
    ),
    "shared_wall": ("yes no", "w"),
    "calice_diameter_mm": ("", "w"),
    "corallite_diameter_mm": ("", "w"),
    "valley_width_mm": ("", "w"),
    "corallite_spacing_mm": ("", "l"),
    "axial_corallite": ("absent single multiple", "w"),
    "corallite_relief": ("immersed flush domed conical tubular", "w"),
    "corallite_outline": ("round polygonal elongate irregular", "w"),
    "groove_between": ("absent present", "w"),
    "wall_groove": ("absent present", "w"),
    "centres_per_valley": ("one_to_three many", "w"),
    "corallite_tilt": ("upright towards_edge", "w"),
    "costal_pits": ("absent present", "l"),
    "corallite_hood": ("absent present", "l"),
    "corallite_rows": ("absent present", "w"),
    "coenosteum_texture": (
        "none smooth granular spinose papillate tuberculate reticulate ridged costate vesicular",
        "l",
    ),
    "verrucae": ("absent present", "w"),
    "monticules": ("absent present", "w"),
    "concentric_ridges": ("absent present", "w"),
    "plate_faces": ("one both", "w"),
    "plate_uprights": ("absent present", "w"),
    "wall_crest": ("sharp rounded flat", "w"),
    "budding": ("within_calice outside_calice both", "l"),
    "septa_count": ("", "l"),
    "septa_order": ("equal alternating unequal", "l"),
    "septal_teeth": ("none fine spiny lobed", "l"),
    "septa_relief": ("indistinct even prominent", "l"),
    "septo_costae_confluent": ("absent present", "l"),
    "columella": ("absent styliform spongy lamellar papillose", "l"),
    "paliform_crown": ("absent present", "l"),
    "tissue": ("thin moderate fleshy", "w"),
    "day_expansion": ("retracted short_tentacles long_polyps vesicles", "w"),
    "tentacle_tip": ("tapered knobbed anchor branched", "w"),
    "tentacle_count": ("eight_pinnate twelve twenty_four many", "l"),
    "mouths": ("one several along_furrow", "w"),
    "openings": (
        "calices pores_one_size pores_two_sizes pore_rows cyclosystems tubes",
        "l",
    ),
    "fine_hairs": ("absent present", "l"),
    "living_colour": (
        "brown_or_green cream_or_yellow bright_orange_or_yellow pink_or_red blue_or_purple "
        "grey_or_white very_dark",
        "w",
    ),
    "skeleton_colour": ("white blue red other", "k"),
    "wall_structure": ("septothecate synapticulothecate parathecate", "k"),
    "wall_porosity": ("solid porous", "k"),
    "abortive_septa": ("absent present", "k"),
    "septal_fusion": ("", "k"),
    "septal_cycles": ("", "k"),
    "tooth_height_mm": ("", "k"),
    "pali": ("", "k"),
    "epitheca": ("", "k"),
    "dissepiments": ("", "k"),
    "columella_threads": ("", "k"),
    "septal_structure": ("laminar rows_of_spines fused_with_pali", "k"),
    "coenosteum_structure": ("absent solid reticulate costate dissepimental", "k"),
    "colony_diameter_cm": ("", "w"),
    "habitat": ("reef_flat crest slope lagoon overhang_or_cave sand_or_rubble turbid_inshore", "w"),
    "depth_m": ("", "w"),
}
CONDITIONS = {"shaded", "crowded", "wave_beaten", "juvenile", "overgrowing", "regenerating"}
NEVER_SCLERACTINIAN = ("Millepora", "Heliopora", "Tubipora", "Stylaster", "Distichopora")
WITHOUT_ALGAE = ("Tubastraea", "Dendrophyllia", "Cladopsammia", "Rhizopsammia", "Balanophyllia")
SEVERAL_FORMS = (
    "Acropora", "Montipora", "Porites", "Pavona", "Psammocora", "Turbinaria", "Cyphastrea",
    "Goniopora", "Lobophyllia", "Galaxea", "Echinopora", "Fungia", "Danafungia", "Lobactis",
    "Pleuractis", "Ctenactis", "Herpolitha",
)  # fmt: skip


@pytest.mark.parametrize("id_", CONTRACT)
def test_characters_of_the_plan_can_be_reported(id_: str) -> None:
    """Every id of the plan is a character or a view, with at least the states of the plan."""
    states, _ = CONTRACT[id_]
    known = {*compiled().character_index, *(view.id for view in compiled().views)}
    assert id_ in known
    assert set(states.split()) <= set(state_columns(compiled(), id_))


@pytest.mark.parametrize("id_", CONTRACT)
def test_characters_are_seen_as_planned(id_: str) -> None:
    """Each character is seen in the way that the plan says."""
    scheme = library().reference.scheme
    seen = {c.id: c.seen for c in scheme.characters.values()}
    seen |= {view.id: view.seen for view in scheme.views if view.id not in seen}
    assert seen[id_] == CONTRACT[id_][1]


def test_conditions_are_those_of_the_plan() -> None:
    """The six conditions of the plan, and no other."""
    assert set(compiled().conditions) == CONDITIONS


def test_the_genera_that_must_be_there_are_there() -> None:
    """The stony corals that are no scleractinians, and the common ones without algae."""
    assert {*NEVER_SCLERACTINIAN, *WITHOUT_ALGAE} <= set(compiled().genera)


@pytest.mark.skipif(not DATA.is_dir(), reason="the open data are not beside this checkout")
def test_every_genus_with_algae_is_there() -> None:
    """Each of the 125 genera with zooxanthellate species (Madin et al. 2016), or its heir."""
    with (DATA / "genus_traits_summary.csv").open(newline="", encoding="utf-8") as stream:
        rows = [r for r in csv.DictReader(stream) if int(r["n_zoox"]) + int(r["n_both"])]
    older = {name.older_name for name in library().reference.entries.names}
    missing = {row["genus"] for row in rows} - set(compiled().genera) - older
    assert len(rows) == 125
    assert not missing


def test_genera_that_differ_much_have_several_forms() -> None:
    """Genera whose species differ much have two forms or more, thirty genera at least."""
    reference = library().reference
    several = {g for g in reference.entries.genera if len(reference.forms_of(g)) > 1}
    assert set(SEVERAL_FORMS) <= several
    assert len(several) >= 30


def test_nine_of_ten_cells_seen_in_the_water_are_filled() -> None:
    """At least nine of ten applicable cells seen in the water or with a lens are filled."""
    filled, cells = coverage(library().reference)
    print(f"\nfilled: {filled} of {cells} cells")
    assert filled >= 0.9 * cells


def test_every_value_names_a_source_that_is_listed() -> None:
    """Each value has a source key, or ``memory``, and ``sources`` cites it in full."""
    entries = library().reference.entries
    assert {value.source for value in entries.values.values()} <= set(entries.sources)
    assert all(len(citation) > 20 for citation in entries.sources.values())
