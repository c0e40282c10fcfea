"""The archive of colonies, read by a reader that is not ours."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from dwca.read import DwCAReader
from lxml import etree

from corallum.actions.colonies import Undo, get_colony, undo
from corallum.actions.export_colonies import ExportColonies, export_colonies
from corallum.actions.people import list_people
from corallum.errors import InputError
from corallum.exchange.archive.terms import (
    EXTENDED_MEASUREMENT,
    IDENTIFICATION,
    MULTIMEDIA,
    TERMS,
)
from corallum.exchange.colony_archive.shape import VERIFICATION
from corallum.exchange.coordinates import WITHHELD, parse_coordinate_rule
from corallum.records.colony_record import ColonyRecord
from corallum.store.programme import Programme
from exported import Exported, exported_copy, make_exported
from invented import NOW

Rows = list[dict[str, str]]
DOUBTS = {"", "cf.", "aff.", "?"}


@pytest.fixture(scope="module")
def source() -> Exported:
    """The programme that is handed over."""
    return make_exported()


@pytest.fixture(scope="module")
def programme(source: Exported) -> Iterator[Programme]:
    """It, open."""
    found = source.open()
    yield found
    found.close()


@pytest.fixture(scope="module")
def first(source: Exported, programme: Programme) -> ColonyRecord:
    """The colony of which everything is kept."""
    return get_colony(programme, source.first_colony)


@pytest.fixture(scope="module")
def archive(programme: Programme, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Everything, with originals."""
    target = tmp_path_factory.mktemp("out") / "colonies.zip"
    export_colonies(programme, ExportColonies(target, photos="original"), NOW)
    return target


def read(path: Path) -> dict[str, tuple[dict[str, str], dict[str, Rows]]]:
    """Return each colony's terms, and its rows of each extension, by its id."""
    short = {uri: name for name, uri in TERMS.items()}
    found = {}
    with DwCAReader(str(path)) as reader:
        assert reader.descriptor.core.type == "http://rs.tdwg.org/dwc/terms/Occurrence"
        for row in reader:
            core = {short[uri]: value for uri, value in row.data.items()}
            rows: dict[str, Rows] = {}
            for one in row.extensions:
                told = {short[uri]: value for uri, value in one.data.items()}
                rows.setdefault(one.rowtype, []).append(told)
            found[row.id] = core, rows
    return found


def test_another_reader_reads_every_colony_that_stands(archive: Path, source: Exported) -> None:
    """Two colonies stand; one that was withdrawn is not told."""
    assert set(read(archive)) == {source.first_colony, source.bare_colony}


def test_every_identification_is_a_row_in_its_order(archive: Path, first: ColonyRecord) -> None:
    """Program, program, second reader, lead: none is written over, each has its own id."""
    core, rows = read(archive)[first.id]
    said = rows[IDENTIFICATION]

    assert [one["verbatimIdentification"] for one in said] == [
        one.name for one in first.determinations
    ]
    assert [one["dateIdentified"] for one in said] == [
        one.at.isoformat() for one in first.determinations
    ]
    assert [one["identifiedBy"] for one in said[2:]] == ["Observer 2", "Lead"]
    assert len({one["identificationID"] for one in said}) == 4
    assert core["verbatimIdentification"] == "Favites sp."
    assert core["previousIdentifications"] == " | ".join(
        one.name for one in first.determinations[:3]
    )


def test_a_scientific_name_holds_no_sign(archive: Path) -> None:
    """Signs and doubts stand beside the name, doubts as cf., aff. or ? alone."""
    for core, rows in read(archive).values():
        for row in (core, *rows.get(IDENTIFICATION, [])):
            assert set(row["scientificName"].split()).isdisjoint({"sp.", "indet.", "cf.", "or"})
            assert row["identificationQualifier"] in DOUBTS
            assert row["identificationVerificationStatus"] in VERIFICATION.values()
            assert row["taxonRank"] in {"species", "genus", "family", "order", "phylum"}


def test_a_lead_stands_behind_a_name_as_nobody_else(archive: Path, first: ColonyRecord) -> None:
    """Who stands behind an identification is said from one small list."""
    _, rows = read(archive)[first.id]
    status = [one["identificationVerificationStatus"] for one in rows[IDENTIFICATION]]

    assert status == [
        "by program, not verified", "by program, not verified", "by second reader",
        "verified by lead",
    ]  # fmt: skip


def test_remarks_say_what_was_seen_then(archive: Path, first: ColonyRecord) -> None:
    """The first opinion knew the columella as spongy; the change to absent was undone later."""
    _, rows = read(archive)[first.id]
    remarks = rows[IDENTIFICATION][0]["identificationRemarks"]

    assert "columella spongy (unsure)" in remarks
    assert "corallite arrangement plocoid or cerioid" in remarks
    assert f"probability {first.determinations[0].probability:.3f}" in remarks


def test_sizes_say_how_they_were_measured_and_how_well(archive: Path, first: ColonyRecord) -> None:
    """A size on a photo: value, unit, interval, method, by whom."""
    _, rows = read(archive)[first.id]
    (size,) = [one for one in rows[EXTENDED_MEASUREMENT] if "on a photo" in one["measurementType"]]

    assert (size["measurementValue"], size["measurementUnit"]) == ("7.25", "mm")
    assert size["measurementAccuracy"] == "95 % interval 7 to 7.5"
    assert size["measurementMethod"] == "on a photo, by hand, n = 6, 0.05 mm a pixel"
    assert size["measurementDeterminedBy"] == "Observer 1"


def test_probabilities_name_program_and_reference(archive: Path, first: ColonyRecord) -> None:
    """The probability of each set that was kept, with the hash of the reference behind it."""
    _, rows = read(archive)[first.id]
    chances = [one for one in rows[EXTENDED_MEASUREMENT] if "probability" in one["measurementType"]]
    by_model = [one for one in first.determinations if one.kind == "model"]

    assert [float(one["measurementValue"]) for one in chances] == [
        one.probability for one in by_model
    ]
    for one, said in zip(chances, by_model, strict=True):
        assert said.reference_hash in one["measurementMethod"]
        assert said.reference_version in one["measurementMethod"]


def test_candidates_are_told_where_the_programs_word_stands(
    source: Exported, tmp_path: Path
) -> None:
    """Before a lead decided, each genus that may be meant has its probability."""
    copy = exported_copy(tmp_path / "copy").open()
    lead = next(one.id for one in list_people(copy) if one.role == "lead")
    record = get_colony(copy, source.first_colony)
    override = record.determinations[-1].history
    undo(copy, Undo(record.id, override), NOW, None, lead)  # type: ignore[arg-type]  nothing is drawn
    export_colonies(copy, ExportColonies(tmp_path / "a.zip"), NOW)
    copy.close()
    core, rows = read(tmp_path / "a.zip")[record.id]
    chances = {
        one["measurementType"].rpartition(": ")[2]: float(one["measurementValue"])
        for one in rows[EXTENDED_MEASUREMENT] if "one candidate" in one["measurementType"]
    }  # fmt: skip

    assert len(chances) > 1
    assert 0.9 < sum(chances.values()) <= 1
    assert core["identificationVerificationStatus"] == "by program, not verified"
    status = [one["identificationVerificationStatus"] for one in rows[IDENTIFICATION]]
    assert status[-1] == "taken back"


def test_photos_are_named_with_hash_and_rights(archive: Path, first: ColonyRecord) -> None:
    """The hash is that of the file in the archive."""
    _, rows = read(archive)[first.id]
    (photo,) = rows[MULTIMEDIA]

    with zipfile.ZipFile(archive) as packed:
        data = packed.read(photo["identifier"])
    assert hashlib.sha256(data).hexdigest() == photo["hashValue"] == first.photos[0].photo.sha256
    assert photo["rightsHolder"] == "Invented reserve"


def test_a_marked_colony_is_an_organism(archive: Path, source: Exported) -> None:
    """A colony with a mark can be found again; one without has no organism."""
    found = read(archive)

    core = found[source.first_colony][0]
    assert (core["organismID"], core["organismName"]) == (source.first_colony, "Tag 7")
    assert found[source.bare_colony][0]["organismID"] == ""


def test_positions_notes_and_captions_are_kept_back(
    programme: Programme, source: Exported, tmp_path: Path
) -> None:
    """Withheld: no degrees, no notes, no captions anywhere, and the reason is told."""
    export_colonies(programme, ExportColonies(tmp_path / "a.zip", WITHHELD, photos="small"), NOW)
    core, rows = read(tmp_path / "a.zip")[source.first_colony]

    assert core["decimalLatitude"] == core["decimalLongitude"] == ""
    assert core["informationWithheld"].startswith("coordinates withheld; notes withheld")
    with zipfile.ZipFile(tmp_path / "a.zip") as packed:
        texts = b"".join(packed.read(name) for name in packed.namelist() if name.endswith("txt"))
        (photo,) = [name for name in packed.namelist() if name.endswith(".jpg")]
        assert b"Exif" not in packed.read(photo)
    for secret in ("line two", "close, ", "wall?", "walls, shared", "35.0"):
        assert secret.encode() not in texts
    assert rows[MULTIMEDIA][0]["comments"].startswith("Small copy without place")


def test_rounded_positions_say_how_far_they_may_lie_off(
    programme: Programme, source: Exported, tmp_path: Path
) -> None:
    """Rounded to 0.1 degree at the equator: half a diagonal, 7.8 km."""
    rule = parse_coordinate_rule("0.1")
    export_colonies(programme, ExportColonies(tmp_path / "a.zip", rule), NOW)
    core, _ = read(tmp_path / "a.zip")[source.first_colony]

    assert core["dataGeneralizations"] == "coordinates rounded to 0.1 degree"
    assert float(core["coordinateUncertaintyInMeters"]) == pytest.approx(7845, abs=2)


def test_originals_are_not_packed_where_positions_are_kept_back(
    programme: Programme, tmp_path: Path
) -> None:
    """An original may hold its position, so both can't be wanted."""
    command = ExportColonies(tmp_path / "a.zip", WITHHELD, photos="original")

    with pytest.raises(InputError, match="expected photos that tell no position"):
        export_colonies(programme, command, NOW)
    assert list(tmp_path.iterdir()) == []


def test_an_hour_that_is_not_known_is_not_told(archive: Path) -> None:
    """A record may be typed in the evening: when it was begun is not when the colony was seen."""
    with zipfile.ZipFile(archive) as packed:
        assert b"eventTime" not in packed.read("occurrence.txt")


def test_the_description_is_valid_and_names_what_is_there(archive: Path) -> None:
    """Every file of meta.xml is in the zip; eml.xml is well formed; hashes are listed."""
    with zipfile.ZipFile(archive) as packed:
        names = set(packed.namelist())
        meta = etree.fromstring(packed.read("meta.xml"))
        etree.fromstring(packed.read("eml.xml"))
        listed = dict(
            reversed(line.split("  ")) for line in packed.read("sha256.txt").decode().splitlines()
        )
        for name in names - {"sha256.txt"}:
            assert listed[name] == hashlib.sha256(packed.read(name)).hexdigest()
    located = {node.text for node in meta.iter("{*}location")}
    assert located <= names
    assert len(located) == 4


def test_the_same_colonies_are_the_same_bytes(
    programme: Programme, archive: Path, tmp_path: Path
) -> None:
    """Two exports of the same history do not differ."""
    export_colonies(programme, ExportColonies(tmp_path / "b.zip", photos="original"), NOW)

    assert (tmp_path / "b.zip").read_bytes() == archive.read_bytes()


def test_the_history_is_among_the_properties(archive: Path, first: ColonyRecord) -> None:
    """Every entry, what was undone too, with people by their names."""
    core, _ = read(archive)[first.id]
    log = json.loads(core["dynamicProperties"])["log"]

    assert [one["number"] for one in log] == [one.id for one in first.history]
    assert {one["by"] for one in log} == {"Observer 1", "Observer 2", "Lead"}
