"""A zip from anybody, read where it lies: nothing is written to disk, and no more than its share.

Refused are names that lead elsewhere, links, locked files, names that stand twice, and zips
that blow up: too many files, too large, or packed beyond what text can be.
"""

from __future__ import annotations

import hashlib
import lzma
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO

from corallum.errors import Fault, InputError

__all__ = ["Limits", "Unpacked", "is_zip", "open_zip"]

# What the reader of zips raises on a broken one; a wrong password is a RuntimeError.
_BROKEN = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, OSError, RuntimeError,
)  # fmt: skip
_MARK = b"PK\x03\x04"
_REMEDY = "Ask for the archive again, from where it was made."
_MB, _PIECE = 1_000_000, 1 << 20
_ALWAYS_FINE = 10 * _MB


@dataclass(frozen=True, slots=True)
class Limits:
    """How much a zip may hold; bytes as they are once unpacked."""

    files: int = 20_000
    bytes_each: int = 8_000 * _MB
    bytes_all: int = 20_000 * _MB
    ratio: int = 500


class Unpacked:
    """An open zip whose list of files has been checked."""

    def __init__(self, archive: zipfile.ZipFile, file: str) -> None:
        self.file = file
        self._archive = archive
        self.names = frozenset(archive.namelist())

    def size(self, name: str) -> int:
        """Return how large a file is once unpacked."""
        return self._archive.getinfo(name).file_size

    def check_whole(self) -> None:
        """Read every file to its end.

        Raises
        ------
        InputError
            Where one does not agree with its check sum.
        """
        for name in sorted(self.names):
            with self.open(name) as stream:
                while stream.read(_PIECE):
                    pass

    def altered(self, listed: str) -> tuple[str, ...]:
        """Return the files that have another SHA-256 than a list among them says, by name.

        Where there is no such list, or it can't be read, nothing is known to be altered.
        """
        if listed not in self.names or self.size(listed) > _MB:
            return ()
        found = []
        for line in self.read(listed, _MB).decode("utf-8", "replace").splitlines():
            digest, _, name = line.partition("  ")
            if name in self.names:
                seen = hashlib.sha256()
                with self.open(name) as stream:
                    while piece := stream.read(_PIECE):
                        seen.update(piece)
                found += [] if seen.hexdigest() == digest.lower() else [name]
        return tuple(found)

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        """Open one file of it.

        Raises
        ------
        InputError
            Where what is read does not agree with its check sum.
        """
        try:
            with self._archive.open(name) as stream:
                yield stream
        except _BROKEN as error:
            fault = Fault(f"{self.file}/{name}", "", "a whole file", _first(error), _REMEDY)
            raise InputError([fault]) from error

    def read(self, name: str, most: int) -> bytes:
        """Return a small file of it whole.

        Raises
        ------
        InputError
            Where it is larger than ``most`` bytes, or broken.
        """
        if self.size(name) > most:
            found = f"{self.size(name)} bytes"
            fault = Fault(f"{self.file}/{name}", "", f"at most {most} bytes", found, _REMEDY)
            raise InputError([fault])
        with self.open(name) as stream:
            return stream.read(most + 1)


def is_zip(path: Path) -> bool:
    """Whether a file begins as a zip does."""
    try:
        with path.open("rb") as stream:
            return stream.read(len(_MARK)) == _MARK
    except OSError:
        return False


@contextmanager
def open_zip(path: Path, limits: Limits = Limits()) -> Iterator[Unpacked]:
    """Open a zip for as long as it is needed.

    Raises
    ------
    InputError
        Where it is no zip, or holds what is refused; every fault at once.
    """
    try:
        archive = zipfile.ZipFile(path)
    except (*_BROKEN, ValueError) as error:
        fault = Fault(str(path), "", "a zip that can be read", _first(error), _REMEDY)
        raise InputError([fault]) from error
    with archive:
        faults = list(_faults(archive, str(path), limits))
        if faults:
            raise InputError(faults)
        yield Unpacked(archive, str(path))


def _faults(archive: zipfile.ZipFile, file: str, limits: Limits) -> Iterator[Fault]:
    """Find what is refused, from the list of files alone."""
    infos = archive.infolist()
    if len(infos) > limits.files:
        yield Fault(file, "", f"at most {limits.files} files", f"{len(infos)}", _REMEDY)
        return
    if (total := sum(info.file_size for info in infos)) > limits.bytes_all:
        expected = f"at most {limits.bytes_all // _MB} MB once unpacked"
        yield Fault(file, "", expected, f"{total // _MB} MB", _REMEDY)
    seen: set[str] = set()
    for info in infos:
        for expected, found in _wrong(info, limits):
            yield Fault(file, repr(info.filename)[:80], expected, found, _REMEDY)
        if info.filename.casefold() in seen:
            yield Fault(file, repr(info.filename)[:80], "each name once", "the name again", _REMEDY)
        seen.add(info.filename.casefold())


def _wrong(info: zipfile.ZipInfo, limits: Limits) -> Iterator[tuple[str, str]]:
    """Say what was expected of a file and found, where it is refused."""
    path = PurePosixPath(info.filename)
    if path.is_absolute() or ".." in path.parts or "\\" in info.filename or ":" in info.filename:
        yield "a name that stays within the archive", "one that leads elsewhere"
    if stat.S_ISLNK(info.external_attr >> 16):
        yield "a file", "a link"
    if info.flag_bits & 1:
        yield "a file that can be read", "one locked with a password"
    if info.file_size > limits.bytes_each:
        yield f"at most {limits.bytes_each // _MB} MB", f"{info.file_size // _MB} MB"
    elif info.file_size > max(_ALWAYS_FINE, limits.ratio * max(info.compress_size, 1)):
        yield f"a file packed at most {limits.ratio} times", "one packed more"


def _first(error: BaseException) -> str:
    """Return the first line of an error."""
    text = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return str(text).splitlines()[0][:120]
