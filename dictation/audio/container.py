"""What a container file promises against what is there: recorders die with their battery."""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer as Buffer

_UNKNOWN_LENGTH = 0xFFFFFFFF
_LONGEST_HEADER = 2**20
"""Bytes before the sound that are held to be mended; recorders write some hundred."""
_OGG_PAGE_LIMIT = 65_307  # bytes: largest page of RFC 3533 (27 + 255 + 255 * 255)
_OGG_LAST_PAGE = 0x04  # header type flag of RFC 3533, section 6


@dataclass(frozen=True, slots=True)
class WavLength:
    """Bytes of sound in a WAV file.

    ``length_field_at``: offset of the data chunk's length; ``promised_bytes``: what it says;
    ``present_bytes``: what follows it; ``bytes_per_s`` of the format.
    """

    length_field_at: int
    promised_bytes: int
    present_bytes: int
    bytes_per_s: int

    @property
    def breaks_off(self) -> bool:
        """Less sound than the header promises."""
        return self.present_bytes < self.promised_bytes != _UNKNOWN_LENGTH

    @property
    def never_finished(self) -> bool:
        """The recorder stopped before it wrote the length: sound follows a length of zero."""
        mendable = self.length_field_at <= _LONGEST_HEADER
        return mendable and self.promised_bytes == 0 and self.present_bytes >= 2


def wav_length(path: Path) -> WavLength | None:
    """Length of a RIFF WAVE file by its header; None for any other file."""
    size = path.stat().st_size
    with path.open("rb") as file:
        riff = file.read(12)
        if len(riff) < 12 or riff[:4] != b"RIFF" or riff[8:] != b"WAVE":
            return None
        bytes_per_s = 0
        while len(head := file.read(8)) == 8:
            name, length = struct.unpack("<4sI", head)
            if name == b"data":
                at = file.tell()
                return WavLength(at - 4, length, size - at, bytes_per_s)
            # What a chunk says of its length may be gigabytes that are not there.
            body = file.read(12) if name == b"fmt " and length >= 12 else b""
            if len(body) == 12:
                bytes_per_s = struct.unpack_from("<I", body, 8)[0]
            file.seek(length + length % 2 - len(body), io.SEEK_CUR)
    return None


class MendedWav(io.FileIO):
    """A WAV file whose zero length is read as the length that is there; the file is not changed."""

    def __init__(self, path: Path, length: WavLength) -> None:
        super().__init__(path)
        head = bytearray(self.read(length.length_field_at + 4))
        present = min(length.present_bytes, _UNKNOWN_LENGTH - 1)
        struct.pack_into("<I", head, length.length_field_at, present)
        struct.pack_into("<I", head, 4, min(present + len(head) - 8, _UNKNOWN_LENGTH - 1))
        self._head = bytes(head)
        self.seek(0)

    def readinto(self, buffer: Buffer, /) -> int:
        """The next bytes, those of the header as mended."""
        at = self.tell()
        view = memoryview(buffer).cast("B")
        got = super().readinto(view)
        mended = self._head[at : at + got]
        view[: len(mended)] = mended
        return got


def ogg_breaks_off(path: Path) -> bool:
    """Whether an Ogg file lacks the page that ends its stream. False for any other file."""
    with path.open("rb") as file:
        if file.read(4) != b"OggS":
            return False
        file.seek(max(0, path.stat().st_size - 2 * _OGG_PAGE_LIMIT))
        tail = file.read()
    at = tail.rfind(b"OggS")
    return at < 0 or at + 5 >= len(tail) or not tail[at + 5] & _OGG_LAST_PAGE
