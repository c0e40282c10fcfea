"""Reports as files: the form goes by the ending, and each file is whole or not there."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from corallum.errors import Fault, InputError
from corallum.report.report import Report
from corallum.report.report_html import report_html
from corallum.report.report_pdf import report_pdf

__all__ = ["ENDINGS", "check_targets", "write_report"]

ENDINGS = (".pdf", ".html")


def check_targets(targets: Sequence[Path], *, replace: bool = False) -> None:
    """Refuse files that can't be written, before any work is done.

    Parameters
    ----------
    targets : sequence of Path
        Where a report is to go.
    replace : bool
        Whether a file that is there may be replaced.

    Raises
    ------
    InputError
        With a fault for every target that won't do.
    """
    faults = [fault for one in targets for fault in _faults(one, replace=replace)]
    twice = sorted({str(one) for one in targets if targets.count(one) > 1})
    faults += [_fault(one, "a file for each --out", "it twice", "Name another.") for one in twice]
    if faults:
        raise InputError(faults)


def _fault(where: object, expected: str, found: str, remedy: str) -> Fault:
    return Fault(str(where), "", expected, found, remedy)


def _faults(target: Path, *, replace: bool) -> list[Fault]:
    """Find what is wrong with one target."""
    if target.suffix.lower() not in ENDINGS:
        found = repr(target.suffix) if target.suffix else "none"
        return [_fault(target, "an ending .pdf or .html", found, "Name the file so.")]
    try:
        if target.is_dir():
            return [_fault(target, "a file to write", "a folder", "Choose another name.")]
        if not target.parent.is_dir():
            folder = f"no folder {target.parent}"
            return [_fault(target, "a file in a folder that is there", folder, "Make it first.")]
        if target.exists() and not replace:
            remedy = "Choose another name, or add --replace."
            return [_fault(target, "a new file", "one that is there", remedy)]
    except (OSError, ValueError) as error:
        return [_fault(target, "a file to write", _reason(error), "Check the path.")]
    return []


def write_report(
    report: Report, targets: Sequence[Path], made: datetime, *, replace: bool = False
) -> tuple[int, ...]:
    """Write a report to files.

    Parameters
    ----------
    report : Report
        What it says.
    targets : sequence of Path
        Files ending in .pdf or .html.
    made : datetime
        Moment written into a PDF.
    replace : bool
        Whether a file that is there may be replaced.

    Returns
    -------
    tuple of int
        Bytes of each.

    Raises
    ------
    InputError
        Where one can't be written; what was there before stays.
    """
    check_targets(targets, replace=replace)
    sizes = []
    for target in targets:
        content = (
            report_pdf(report, made) if target.suffix.lower() == ".pdf"
            else report_html(report).encode()
        )  # fmt: skip
        _write(target, content, replace=replace)
        sizes.append(len(content))
    return tuple(sizes)


def _write(target: Path, content: bytes, *, replace: bool) -> None:
    """Write one file beside its place, then put it there in one step."""
    try:
        handle, name = tempfile.mkstemp(prefix=".corallum-", dir=target.parent)
        aside = Path(name)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            # Made for its owner alone; a report may be read as any new file may.
            aside.chmod(0o666 & ~_mask())
            if replace:
                aside.replace(target)
            else:
                _put(aside, target)
        finally:
            aside.unlink(missing_ok=True)
    except FileExistsError as error:
        remedy = "Choose another name, or add --replace."
        raise InputError([_fault(target, "a new file", "one that is there", remedy)]) from error
    except (OSError, ValueError) as error:
        fault = _fault(target, "a file that can be written", _reason(error), "Check the path.")
        raise InputError([fault]) from error


def _put(aside: Path, target: Path) -> None:
    """Give a file its name, never over one that came in between."""
    try:
        target.hardlink_to(aside)
    except FileExistsError:
        raise
    except OSError:
        # Some disks know no second names; what is there is looked for once more.
        if target.exists():
            raise FileExistsError(str(target)) from None
        aside.replace(target)


def _mask() -> int:
    """Return which rights new files don't get."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _reason(error: Exception) -> str:
    """Say why the disk refused."""
    return getattr(error, "strerror", None) or str(error)
