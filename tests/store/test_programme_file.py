"""``programme.toml`` is read back as written, or every fault of it is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.records.programme import ProgrammeSettings
from corallum.reference.genera import REGIONS
from corallum.store.programme_file import check_settings, read_settings, settings_text

NAMES = st.text(min_size=1, max_size=120).filter(lambda text: text.isprintable() and text.strip())
SHARES = st.floats(0, 1, exclude_min=True, exclude_max=True, allow_subnormal=False)


@given(
    name=NAMES,
    regions=st.lists(st.sampled_from(REGIONS), min_size=1, unique=True),
    thresholds=st.dictionaries(st.sampled_from(["set_mass", "separable"]), SHARES),
    database=st.none() | NAMES,
)
def test_what_is_written_is_read_back(
    tmp_path_factory: pytest.TempPathFactory,
    name: str,
    regions: list[str],
    thresholds: dict[str, float],
    database: str | None,
) -> None:
    """Save, then load, is the identity, whatever the name."""
    settings = ProgrammeSettings(name, tuple(regions), thresholds, database)
    assert check_settings(settings, "") == []
    folder = tmp_path_factory.mktemp("programme")
    (folder / "programme.toml").write_text(settings_text(settings), encoding="utf-8")
    assert read_settings(folder) == settings


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """Every fault is one line with its key."""
    text = 'name = ""\nregions = ["mars"]\ncolour = 1\n[thresholds]\nset_mass = 2\nspeed = 0.5\n'
    (tmp_path / "programme.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_settings(tmp_path)
    places = [fault.place for fault in caught.value.faults]
    assert places == ["colour", "name", "regions", "thresholds, set_mass", "thresholds"]


@pytest.mark.parametrize(
    "raw", [b"name = ", b"\xff\xfe", b"name = 3\nregions = 4\n", b"thresholds = 1\n"]
)
def test_a_broken_file_is_an_input_error(tmp_path: Path, raw: bytes) -> None:
    """Nothing in the file is a traceback."""
    (tmp_path / "programme.toml").write_bytes(raw)
    with pytest.raises(InputError):
        read_settings(tmp_path)


def test_a_folder_that_is_no_programme(tmp_path: Path) -> None:
    """A folder without the file is one line with what to do."""
    with pytest.raises(InputError) as caught:
        read_settings(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path}: expected a programme with programme.toml, found none. "
        "Check the path, or make a programme with corallum new."
    )
