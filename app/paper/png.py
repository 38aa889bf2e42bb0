"""A picture as the bytes of a PNG file."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage


def png_bytes(image: QImage) -> bytes:
    """``image`` as a PNG file's bytes; empty where there is no picture in it."""
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]
    buffer.close()
    return bytes(held.data())
