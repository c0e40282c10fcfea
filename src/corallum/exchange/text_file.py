"""Text out of a file or standard input: at most so large, UTF-8, or one line that says why not."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from corallum.errors import Fault, InputError

__all__ = ["read_text", "write_bytes", "write_text"]

_PIECE = 1_000_000


def read_text(path: str, stdin: IO[bytes], most_mb: int) -> tuple[str, str]:
    """Read a text.

    Parameters
    ----------
    path : str
        A file, or ``-`` for standard input.
    stdin : binary stream
        Read where ``path`` is ``-``.
    most_mb : int
        Largest file to read, in megabytes.

    Returns
    -------
    str and str
        The text, without the mark of byte order, and what to call the file.

    Raises
    ------
    InputError
        Where the file can't be opened, is too large or not UTF-8.
    """
    name = "standard input" if path == "-" else path
    most = most_mb * 1_000_000
    try:
        if path == "-":
            raw = _read_at_most(stdin, most)
        else:
            with Path(path).open("rb") as stream:
                raw = _read_at_most(stream, most)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        fault = Fault(name, "", "a file that can be read", reason, "Check the path.")
        raise InputError([fault]) from error
    if len(raw) > most:
        remedy = "Split it, or raise --most-mb."
        raise InputError([Fault(name, "", f"at most {most_mb} MB", "a larger file", remedy)])
    return _decode(raw, name), name


def _read_at_most(stream: IO[bytes], most: int) -> bytes:
    """Read up to one byte over ``most``, piece by piece: no memory is asked for in advance."""
    pieces, left = [], most + 1
    while left and (piece := stream.read(min(left, _PIECE))):
        pieces.append(piece)
        left -= len(piece)
    return b"".join(pieces)


def _decode(raw: bytes, name: str) -> str:
    """Decode UTF-8, saying where it isn't."""
    try:
        return raw.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"the byte {raw[error.start]:#04x}"
        fault = Fault(name, f"line {line}", "UTF-8 text", found, "Save the file as UTF-8.")
        raise InputError([fault]) from error


@contextmanager
def _or_nothing(path: Path) -> Iterator[None]:
    """Take a file away that could not be written to its end: half of it looks whole."""
    try:
        yield
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def write_text(path: Path, text: str) -> None:
    """Write a new text file, never over one that is there; see ``write_bytes``."""
    write_bytes(path, text.encode())


def write_bytes(path: Path, data: bytes) -> None:
    """Write a new file, whole or not at all, never over one that is there.

    Raises
    ------
    InputError
        Where something is there already, or can't be written.
    """
    try:
        with path.open("xb") as stream, _or_nothing(path):
            stream.write(data)
            stream.flush()
    except FileExistsError as error:
        fault = Fault(str(path), "", "a new file", "one that is there", "Choose another name.")
        raise InputError([fault]) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        remedy = "Check the path, and the room on the disk."
        fault = Fault(str(path), "", "a file that can be written", reason, remedy)
        raise InputError([fault]) from error
