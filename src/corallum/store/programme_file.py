"""Read and write ``programme.toml``, the only file of a programme that names it."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

from corallum.errors import Fault, InputError
from corallum.records.programme import ProgrammeSettings
from corallum.reference.genera import REGIONS

__all__ = ["FILE_NAME", "THRESHOLDS", "check_settings", "read_settings", "settings_text"]

FILE_NAME = "programme.toml"
# Settings of the reference that a programme may set for itself.
THRESHOLDS = ("set_mass", "separable")
_KEYS = ("name", "regions", "database", "thresholds")
_MOST_BYTES = 1_000_000


def read_settings(folder: Path) -> ProgrammeSettings:
    """Read ``programme.toml`` of a folder.

    Raises
    ------
    InputError
        Where it is not there, can't be read, or has faults, with all of them.
    """
    path = folder / FILE_NAME
    try:
        with path.open("rb") as stream:
            raw = stream.read(_MOST_BYTES)
        found = tomllib.loads(raw.decode("utf-8"))
    except FileNotFoundError as error:
        remedy = "Check the path, or make a programme with corallum new."
        fault = Fault(str(folder), "", f"a programme with {FILE_NAME}", "none", remedy)
        raise InputError([fault]) from error
    except OSError as error:
        fault = Fault(str(path), "", "a readable file", str(error.strerror), "Check it.")
        raise InputError([fault]) from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        fault = Fault(str(path), "", "TOML in UTF-8", " ".join(str(error).split()), "Mend it.")
        raise InputError([fault]) from error
    return _parse(found, str(path))


def _parse(found: dict[str, Any], where: str) -> ProgrammeSettings:
    """Turn the file into settings, with every fault at once."""
    faults = [
        Fault(where, key, f"one of {', '.join(_KEYS)}", "another key", "Remove it.")
        for key in found
        if key not in _KEYS
    ]
    regions, thresholds = found.get("regions"), found.get("thresholds", {})
    database = found.get("database")
    if not isinstance(regions, list):
        regions = []
    if not isinstance(thresholds, dict):
        faults.append(Fault(where, "thresholds", "a table", repr(thresholds), "Mend it."))
        thresholds = {}
    if database is not None and not isinstance(database, str):
        faults.append(Fault(where, "database", "an address", repr(database), "Mend it."))
        database = None
    settings = ProgrammeSettings(found.get("name", ""), tuple(regions), thresholds, database)
    faults += check_settings(settings, where)
    if faults:
        raise InputError(faults)
    return settings


def check_settings(settings: ProgrammeSettings, where: str) -> list[Fault]:
    """List every fault of the settings of a programme."""
    faults = []
    name: object = settings.name
    if not isinstance(name, str) or not name.strip() or not name.isprintable() or len(name) > 120:
        expected = "a name of 1 to 120 characters on one line"
        faults.append(Fault(where, "name", expected, repr(name)[:60], "Mend it."))
    if not settings.regions:
        expected = f"one or more of {', '.join(REGIONS)}"
        faults.append(Fault(where, "regions", expected, "none", "List them."))
    for region in settings.regions:
        if region not in REGIONS:
            expected = f"one of {', '.join(REGIONS)}"
            faults.append(Fault(where, "regions", expected, repr(region)[:60], "Mend it."))
    for key, value in settings.thresholds.items():
        if key not in THRESHOLDS:
            expected = f"one of {', '.join(THRESHOLDS)}"
            faults.append(Fault(where, "thresholds", expected, repr(key)[:60], "Remove it."))
        elif isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1:
            expected = "a number between 0 and 1"
            faults.append(
                Fault(where, f"thresholds, {key}", expected, repr(value)[:60], "Mend it.")
            )
    return faults


def settings_text(settings: ProgrammeSettings) -> str:
    """Return the text of ``programme.toml``."""
    lines = [
        "# What this programme is. Everything else of it is in the folders beside this file.",
        f"name = {_quoted(settings.name)}",
        f"regions = [{', '.join(map(_quoted, settings.regions))}]",
    ]
    if settings.database is not None:
        lines.append(f"database = {_quoted(settings.database)}")
    if settings.thresholds:
        lines += ["", "[thresholds]"]
        lines += [f"{key} = {value!r}" for key, value in settings.thresholds.items()]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Write a text as TOML does; what is printable needs no more than JSON's marks."""
    return json.dumps(text, ensure_ascii=False)
