"""1-bit TIFF through Qt: one bit for a pixel, and no slower than the disk.

Qt shows a picture that is cut short as if it were whole, so the strips are checked beforehand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QBuffer, QByteArray, QCoreApplication, QIODevice
from PySide6.QtGui import QImage, QImageReader

from app.scans.guards import qt_guard

if TYPE_CHECKING:
    from PIL import Image

_WIDTH, _HEIGHT = 256, 257
_STRIP_OFFSETS, _STRIP_BYTES = 273, 279


def read_bilevel_tiff(data: bytes, image: Image.Image, page: int) -> QImage | None:
    """The page as Format_Mono as stored, not turned; None where only Pillow may judge or read it.

    ``image`` is the same file opened by Pillow at ``page``, its size checked and nothing decoded.
    """
    tags: Any = getattr(image, "tag_v2", {})
    # Qt loads its TIFF plugin into the application's thread, so there has to be one.
    if QCoreApplication.instance() is None or not _strips_are_whole(data, tags):
        return None
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer, QByteArray(b"tiff"))
    reader.setAutoTransform(False)
    try:
        if page and not reader.jumpToImage(page):
            return None
        with qt_guard.lift():
            mono = reader.read()
    finally:
        # The reader still seeks in its buffer while it is destroyed: it has to go first.
        del reader
        buffer.close()
    fits = mono.width() == tags.get(_WIDTH) and mono.height() == tags.get(_HEIGHT)
    whole = mono.format() == QImage.Format.Format_Mono and mono.colorCount() == 2
    return mono if fits and whole else None


def _strips_are_whole(data: bytes, tags: Any) -> bool:
    offsets, lengths = tags.get(_STRIP_OFFSETS), tags.get(_STRIP_BYTES)
    if not offsets or not lengths or len(offsets) != len(lengths):
        return False
    ends = (first + length for first, length in zip(offsets, lengths, strict=True))
    return bool(min(offsets) > 0 and max(ends) <= len(data))
