"""HEIC, AVIF, JPEG 2000 and WebP for Pillow, decoded in the process that reads PDFs (``picture_desk``)."""

from __future__ import annotations

import hashlib
from functools import partial
from typing import Any

from PIL import Image, ImageFile

from app.scans import pdf_wire as wire
from app.scans.faults import OpeningCancelledError
from app.scans.guards import MOST_SECONDS
from app.scans.kinds import PILLOW_MODULES, picture_kind
from app.scans.pdf_reader import (
    Cancelled,
    FaultError,
    PdfReaderError,
    TakenBackError,
    TooLongError,
    shared_reader,
)
from app.scans.watch import WatchedBytes

_MOST_REMEMBERED = 64
_told: dict[tuple[int, int], tuple[wire.Message, bytes]] = {}
"""What was told of files, by hash and length: the window asks for their dpi again, and may not wait."""


class _Beside(ImageFile.ImageFile):
    """The main picture of a file that the other process opens."""

    def _open(self) -> None:
        stream: Any = self.fp
        self._cancelled = stream.watch.cancelled if isinstance(stream, WatchedBytes) else None
        data = stream.read()
        key = hash(data), len(data)
        if key not in _told:
            while len(_told) >= _MOST_REMEMBERED:
                _told.pop(next(iter(_told)), None)
            try:
                _told[key] = _ask("picture-look", data, self._cancelled)
            except PdfReaderError as error:
                raise SyntaxError("no such picture") from error
        told, exif = _told[key]
        self._data: bytes | None = data
        self._size, self._mode = (int(told["width"]), int(told["height"])), str(told["mode"])
        self.n_frames = int(told["pictures"])
        self.info["exif"] = exif
        if told["dpi"]:
            self.info["dpi"] = tuple(told["dpi"])

    def load(self) -> Any:
        """Decode it."""
        if self._data is not None:
            told, pixels = _ask("picture-decode", self._data, self._cancelled)
            self._data = None
            if (told["width"], told["height"], told["mode"]) != (*self._size, self._mode):
                raise ValueError("another picture than its header says")
            self.load_prepare()
            self.frombytes(pixels, "raw", (self._mode, int(told["stride"])))
        return super().load()


def _ask(what: str, data: bytes, cancelled: Cancelled | None) -> tuple[wire.Message, bytes]:
    """The answer to a question of ``picture_desk``; raises what ``opening`` has sentences for."""
    try:
        return shared_reader().ask(
            {"op": what, "open": "picture-open"}, hashlib.sha256(data).hexdigest(), data,
            seconds=MOST_SECONDS, cancelled=cancelled,
        )
    except TakenBackError as error:
        raise OpeningCancelledError from error
    except TooLongError as error:
        raise TimeoutError from error
    except FaultError as error:
        if error.word == wire.NO_ROOM:
            raise MemoryError from error
        if error.word == wire.NO_READER:
            raise ImportError("pi_heif") from error
        raise


def opener(name: str) -> str:
    """What Pillow knows the kind ``name`` by where it is decoded beside the window."""
    return f"{name} BESIDE"


def _begins_like(name: str, prefix: bytes) -> bool:
    """True if 16 bytes are the beginning of this kind; that an AVIF is one may only be told by more."""
    found = picture_kind(prefix)
    return found is not None and (found.name == name or (found.name, name) == ("HEIF", "AVIF"))


for _name in ("HEIF", *PILLOW_MODULES):
    _kind = type(f"{_name}Beside", (_Beside,), {"format": _name, "format_description": _name})
    Image.register_open(opener(_name), _kind, partial(_begins_like, _name))
