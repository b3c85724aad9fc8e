"""Compressed MusicXML (``.mxl``): a ZIP archive whose ``META-INF/container.xml`` names the score."""

import zlib
from io import BytesIO
from typing import Final
from zipfile import BadZipFile, ZipFile

from fretwright.base.errors import ExchangeError
from fretwright.exchange.xmltree import MOST_BYTES, read_tree

ZIP_START: Final = b"PK\x03\x04"
_CONTAINER: Final = "META-INF/container.xml"
_MOST_CONTAINER_BYTES: Final = 100_000


def unpacked(data: bytes, name: str) -> bytes:
    """The score inside an archive; data that is no archive comes back as it is.

    Raises :class:`~fretwright.base.errors.ExchangeError` where the archive is broken, holds no score, or
    would unpack to more than any score has.
    """
    if not data.startswith(ZIP_START):
        return data
    try:
        with ZipFile(BytesIO(data)) as archive:
            container = read_tree(_read(archive, _CONTAINER, _MOST_CONTAINER_BYTES, name), name)
            root = container.find("rootfiles/rootfile")
            if root is None:
                raise ExchangeError(f"{name} does not say which of its files is the score.", _AGAIN)
            return _read(archive, root.get("full-path"), MOST_BYTES, name)
    except (BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise ExchangeError(f"{name} is a broken archive.", _AGAIN) from error


_AGAIN: Final = "Export it again from its program, uncompressed if it offers that."


def _read(archive: ZipFile, member: str, most: int, name: str) -> bytes:
    """One file of the archive; what its directory says of its size is not believed."""
    try:
        with archive.open(member) as file:
            content = file.read(most + 1)
    except KeyError as error:
        raise ExchangeError(f"{name} has no file {member!r} inside.", _AGAIN) from error
    if len(content) > most:
        raise ExchangeError(f"{name} unpacks to more than a score can have.", "Export a shorter piece.")
    return content
