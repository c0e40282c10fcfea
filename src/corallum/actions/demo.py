"""Make the invented reserve: a whole programme out of a seed, to try everything on."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from corallum.actions.colonies import (
    AddEvidence,
    AddNote,
    StartColony,
    add_evidence,
    add_note,
    start_colony,
)
from corallum.actions.colony_answers import (
    Override,
    SaveDetermination,
    override_determination,
    save_determination,
)
from corallum.actions.colony_photos import (
    AddMeasurement,
    AttachPhoto,
    add_measurement,
    attach_photo,
)
from corallum.actions.demo_colonies import (
    DrawnPhoto,
    InventedColony,
    draw_photo,
    invent_colonies,
)
from corallum.actions.demo_practice import invent_practice
from corallum.actions.demo_recipe import Recipe, read_recipe
from corallum.actions.demo_surveys import InventedReef, invent_surveys
from corallum.actions.people import AddPerson, ChangePerson, add_person, change_person, list_people
from corallum.actions.permits import AddPermit, add_permit
from corallum.actions.places import AddEvent, AddSite, add_event, add_site
from corallum.actions.programme_reference import programme_library
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.actions.second_opinions import (
    AnswerReading,
    AskReading,
    SendVoucher,
    answer_reading,
    ask_reading,
    send_voucher,
)
from corallum.model.errors import Observer
from corallum.records.colony import SizeReport
from corallum.store.programme import Programme

__all__ = ["make_demo"]

_CAPTION = "Drawing by the program, not a photograph; the ruler is in millimetres."
_ODD = "Invented record, odd on purpose: "
_QUESTION = "The size and the wall do not go together for me. What do you see?"
_EVERY_READING, _EVERY_VOUCHER, _EVERY_KEPT = 16, 90, 12


@dataclass(slots=True)
class _Made:
    """What the steps of the making share."""

    programme: Programme
    recipe: Recipe
    rng: np.random.Generator
    now: datetime
    people: dict[str, str]
    visits: dict[tuple[str, int], str]


def make_demo(
    folder: Path,
    now: datetime,
    *,
    colonies: int | None = None,
    photos: int | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> Programme:
    """Make the invented reserve in a new folder.

    Parameters
    ----------
    folder : Path
        New or empty.
    now : datetime
        Today's dive is at this moment; the rounds before it lie in its past.
    colonies, photos : int or None
        How many; None is as the recipe says.
    progress : callable
        Is told the share done, 0 to 1.

    Returns
    -------
    Programme
        Open, everything in it invented and said to be.
    """
    recipe = read_recipe()
    rng = np.random.default_rng(recipe.seed)
    n = recipe.colonies if colonies is None else colonies
    start = now - timedelta(days=recipe.rounds[0].days_ago + 1)
    command = CreateProgramme(recipe.name, (recipe.region,), recipe.people[0][0])
    programme = create_programme(folder, command, start, rng)
    made = _Made(programme, recipe, rng, now, {}, {})
    invented = _invent(made, n)
    with _drawn(invented, recipe, recipe.photos if photos is None else photos) as pictures:
        with programme.together():
            _add_people(made, start)
            _add_places(made)
            kept = []
            for i, colony in enumerate(invented):
                kept.append(_write_colony(made, i, n, colony))
                progress(0.9 * (i + 1) / n)
        drawn = _add_photos(made, kept, pictures)
    with programme.together():
        _add_opinions(made, kept, invented)
        _add_odd(made)
        # A stream of its own, so that it moves nothing else in the reserve.
        invent_practice(programme, made.people, now, np.random.default_rng(recipe.seed + 1))
        reef = InventedReef(
            programme, made.people, recipe.surveys, _by_genus(drawn, invented),
            [data for _, _, data in drawn[:3]],
        )  # fmt: skip
        invent_surveys(reef, now, np.random.default_rng(recipe.seed + 2))
    progress(1.0)
    return programme


def _invent(made: _Made, n: int) -> list[InventedColony]:
    """Draw all colonies, each as one kind of observer reports it."""
    library = programme_library(made.programme)
    kinds = [Observer[errors.upper()] for _, role, errors in made.recipe.people[1:5]]
    sets = [
        invent_colonies(library, made.recipe.region, kind, -(-n // len(kinds)), made.rng)
        for kind in kinds
    ]
    return [sets[i % len(sets)][i // len(sets)] for i in range(n)]


@contextmanager
def _drawn(
    invented: list[InventedColony], recipe: Recipe, most: int
) -> Iterator[dict[int, Future[DrawnPhoto]]]:
    """Draw the pictures in another process while the records are written."""
    # The newest colonies are looked at first, so they have the pictures.
    forms = [(i, one.form) for i, one in enumerate(invented) if one.form is not None][::-1]
    step = max(1, len(forms) // max(2 * most, 1))
    chosen = forms[: most // 2] + forms[most // 2 :: step][: most - most // 2]
    if not chosen:
        yield {}
        return
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(max_workers=1, mp_context=context) as pool:
        yield {i: pool.submit(draw_photo, form, recipe.seed + i) for i, form in chosen}


def _add_people(made: _Made, at: datetime) -> None:
    """Add everybody; the lead is there already."""
    lead = list_people(made.programme)[0].id
    made.people["Lead"] = lead
    change_person(
        made.programme, ChangePerson(lead, errors=made.recipe.people[0][2]), at, made.rng, lead
    )
    for name, role, errors in made.recipe.people[1:]:
        command = AddPerson(name, role, errors)
        made.people[name] = add_person(made.programme, command, at, made.rng, lead).id


def _add_places(made: _Made) -> None:
    """Add sites, the rounds of the survey, and a visit to each site in each round."""
    lead, programme, rng = made.people["Lead"], made.programme, made.rng
    first = made.now - timedelta(days=made.recipe.rounds[0].days_ago + 1)
    sites = [
        add_site(programme, AddSite(name, made.recipe.region, north, east, note), first, rng, lead)
        for name, north, east, note in made.recipe.sites
    ]
    for r, round_ in enumerate(made.recipe.rounds):
        day = (made.now - timedelta(days=round_.days_ago)).date()
        survey = add_event(programme, AddEvent("survey", round_.name, date=day), first, rng, lead)
        for site in sites:
            command = AddEvent(
                "visit", f"{site.name}, {round_.name.lower()}", survey.id, site.id, day
            )
            made.visits[site.name, r] = add_event(programme, command, first, rng, lead).id


def _write_colony(made: _Made, i: int, n: int, invented: InventedColony) -> str:
    """Write one record with its evidence, and keep the answer of most."""
    shares = np.cumsum([one.share for one in made.recipe.rounds])
    r = min(int(np.searchsorted(shares, (i + 0.5) / n)), len(made.recipe.rounds) - 1)
    sites = made.recipe.sites
    site = sites[(i // 3) % len(sites)][0]
    observer = made.people[made.recipe.people[1 + i % 4][0]]
    at = made.now - timedelta(days=made.recipe.rounds[r].days_ago, minutes=3 * (n - i) % 240)
    programme, rng = made.programme, made.rng
    command = StartColony(
        name=f"LB-{i + 1:03d}", event=made.visits[site, r], seen_on=at.astimezone().date()
    )
    record = start_colony(programme, command, at, rng, observer)
    for id_, report in invented.reports.items():
        add_evidence(programme, AddEvidence(record.id, "report", id_, report), at, rng, observer)
    for condition in invented.conditions:
        command_ = AddEvidence(record.id, "condition", condition, value=True)
        add_evidence(programme, command_, at, rng, observer)
    # A few are left as the diver left them.
    if i % _EVERY_KEPT != _EVERY_KEPT - 1 and invented.reports:
        save_determination(programme, SaveDetermination(record.id), at, rng, observer)
    return record.id


def _by_genus(
    drawn: list[tuple[int, str, bytes]], invented: list[InventedColony]
) -> dict[str, list[str]]:
    """Return the hashes of the drawings by the genus that they show."""
    found: dict[str, list[str]] = {}
    for i, sha256, _ in drawn:
        found.setdefault(str(invented[i].genus), []).append(sha256)
    return found


def _add_photos(
    made: _Made, kept: list[str], pictures: dict[int, Future[DrawnPhoto]]
) -> list[tuple[int, str, bytes]]:
    """Attach the pictures, and measure some of them; return number, hash and bytes of each."""
    observer = made.people["Observer 1"]
    found = []
    for count, (i, future) in enumerate(sorted(pictures.items())):
        drawn = future.result()
        at = made.now - timedelta(minutes=5)
        photo = attach_photo(
            made.programme, AttachPhoto(kept[i], drawn.data, _CAPTION), at, made.rng, observer
        )
        found.append((i, photo.photo.sha256, drawn.data))
        if count % 6 or not np.isfinite(drawn.spacing_mm) or len(drawn.ruler_px) != 2:
            continue
        (x0, y0), (x1, y1) = drawn.ruler_px
        command = AddMeasurement(
            kept[i], photo.photo.sha256, "corallite_spacing_mm", float(f"{drawn.spacing_mm:.3g}"),
            n=12, by="hand", relative=0.01,
            mm_per_pixel=drawn.ruler_mm / float(np.hypot(x1 - x0, y1 - y0)),
            marks={"scale": "ruler", "scale_points": [[x0, y0], [x1, y1]]}, into_evidence=False,
        )  # fmt: skip
        add_measurement(made.programme, command, at, made.rng, observer)
    return found


def _add_opinions(made: _Made, kept: list[str], invented: list[InventedColony]) -> None:
    """Ask for second readings, answer half of them, record vouchers and one override."""
    programme, rng = made.programme, made.rng
    lead, reader = made.people["Lead"], made.people["Second reader"]
    at = made.now - timedelta(hours=2)
    for count, i in enumerate(range(5, len(kept), _EVERY_READING)):
        asked = ask_reading(programme, AskReading(kept[i], _QUESTION), at, rng, lead)
        genus = invented[i].genus
        if count % 2 and genus is not None:
            answer = AnswerReading(asked.history, (genus,), 0.8, "Invented answer.")
            answer_reading(programme, answer, at, rng, reader)
    expiry = (made.now + timedelta(days=200)).date()
    permit = AddPermit(
        "INVENTED-PERMIT-0", "Invented collection", expiry, "Invented: fragments of any genus."
    )
    add_permit(programme, permit, at, rng, lead)
    for i in range(40, len(kept), _EVERY_VOUCHER):
        command = SendVoucher(
            kept[i], "INVENTED-PERMIT-0", f"LB-V{i}", "Invented collection", "Invented."
        )
        send_voucher(programme, command, at, rng, lead)
    named = next((i for i, one in enumerate(invented) if i > 10 and one.genus), None)
    if named is not None and invented[named].genus is not None:
        reason = "Invented: seen again on the next dive, with the calices at hand."
        override_determination(
            programme, Override(kept[named], str(invented[named].genus), reason), at, rng, lead
        )


_ODD_ONES: tuple[tuple[str, dict[str, object], tuple[str, ...]], ...] = (
    (
        "a calice measured in centimetres and written as millimetres.",
        {"growth_form": "massive", "corallite_arrangement": "plocoid",
         "calice_diameter_mm": SizeReport(0.8, 5, "ruler"), "corallite_relief": "conical",
         "budding": "within_calice", "columella": "spongy"},
        (),
    ),
    (
        "a skin that grew over a branching colony and borrowed its shape.",
        {"growth_form": "branching", "corallite_arrangement": "cerioid",
         "calice_diameter_mm": SizeReport(1.2, 5, "ruler"), "tissue": "thin",
         "axial_corallite": "absent"},
        ("overgrowing",),
    ),
    (
        "two observers called the wall the other way, so both are reported.",
        {"growth_form": "massive", "corallite_arrangement": ["plocoid", "cerioid"],
         "calice_diameter_mm": SizeReport(9.0, 5, "ruler"), "paliform_crown": "absent",
         "septal_teeth": {"state": "spiny", "sure": False}},
        ("shaded",),
    ),
    (
        "a soft coral that was taken for a stony one: it should fit nothing.",
        {"growth_form": "foliaceous", "corallite_arrangement": "pores_two_sizes",
         "tentacle_count": "eight_pinnate", "tissue": "fleshy",
         "calice_diameter_mm": SizeReport(1.5, 3, "eye"), "tentacle_tip": "branched"},
        (),
    ),
    (
        "so young that only its stalk tells it.",
        {"attachment": "stalked", "growth_form": "solitary", "corallite_arrangement": "solitary",
         "calice_diameter_mm": SizeReport(14.0, 1, "ruler"), "mouths": "one"},
        ("juvenile",),
    ),
    (
        "seen at night, and bleached.",
        {"growth_form": "branching", "corallite_arrangement": "plocoid",
         "living_colour": "grey_or_white", "axial_corallite": "single",
         "day_expansion": "long_polyps"},
        ("night", "bleached"),
    ),
)  # fmt: skip


def _add_odd(made: _Made) -> None:
    """Add records that are odd on purpose, and say so in a note."""
    programme, rng = made.programme, made.rng
    observer = made.people["Observer 3"]
    at = made.now - timedelta(minutes=30)
    day = at.astimezone().date()
    for k, (why, reports, conditions) in enumerate(_ODD_ONES):
        site = made.recipe.sites[k % len(made.recipe.sites)][0]
        event = made.visits[site, len(made.recipe.rounds) - 1]
        command = StartColony(name=f"ODD-{k + 1}", event=event, seen_on=day)
        record = start_colony(programme, command, at, rng, observer)
        for id_, value in reports.items():
            add_evidence(programme, AddEvidence(record.id, "report", id_, value), at, rng, observer)
        for one in conditions:
            said = AddEvidence(record.id, "condition", one, value=True)
            add_evidence(programme, said, at, rng, observer)
        add_note(programme, AddNote(record.id, f"{_ODD}{why}"), at, rng, observer)
        save_determination(programme, SaveDetermination(record.id), at, rng, observer)
