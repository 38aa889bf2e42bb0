"""Pictures whose decoders are slow or young. Runs in the process of ``pdf_process`` alone: no Qt, no numpy.

What decodes HEIC crashes on some spoiled files; that of JPEG 2000 lets no other thread run while it works,
those of AVIF and WebP cannot be stopped.
"""

from __future__ import annotations

from importlib import import_module
from io import BytesIO
from typing import Any

from app.scans import pdf_wire as wire
from app.scans.kinds import picture_kind
from app.scans.pdf_pages import PdfFaultError
from app.scans.pdf_wire import Message

_SENT_AS_THEY_ARE = ("L", "LA", "RGB", "RGBA", "RGBa", "CMYK", "I;16")


class PictureDesk:
    """Answers questions about the file that was sent last."""

    def __init__(self) -> None:
        self._key, self._data = "", b""
        self._image: Any = None

    def let_go(self) -> None:
        """Give back what was decoded, once its pixels, which lie in it, are sent."""
        self._image = None

    def answer(self, question: Message, payload: bytes) -> tuple[Message, bytes | memoryview]:
        """The answer to one question. PdfFaultError, MemoryError, or whatever the decoder raises.

        "picture-open" keeps the file. "picture-look": {"width", "height", "mode", "pictures", "dpi"} of its
        main picture and its Exif block. "picture-decode": {"width", "height", "mode", "stride"} and the
        lines from the top. Nothing is turned but what the decoder of HEIC turns by itself.
        """
        if question["op"] == "picture-open":
            self._key, self._data = str(question["key"]), payload
            return {}, b""
        if not self._data or question["key"] != self._key:
            raise PdfFaultError(wire.UNKNOWN)
        kind = picture_kind(self._data)
        name = "" if kind is None else kind.name
        self._image = image = _heif(self._data) if name == "HEIF" else _by_pillow(self._data, name)
        if question["op"] == "picture-look":
            pictures, dpi = getattr(image, "n_frames", 1), image.info.get("dpi")
            told = {**_size(image), "pictures": pictures, "dpi": dpi and [float(figure) for figure in dpi]}
            return told, image.info.get("exif") or b""
        if name == "HEIF":
            pixels, stride = image.data, image.stride
        else:
            image.load()
            if image.mode != _sent_mode(image):
                self._image = image = image.convert(_sent_mode(image))
            pixels = image.tobytes()
            stride = len(pixels) // image.height
        return {**_size(image), "stride": stride}, memoryview(pixels).cast("B")


def _heif(data: bytes) -> Any:
    """ISO/IEC 23008-12: ``irot`` and ``imir`` (6.5.10, 6.5.12) are done; the orientation in the Exif block
    repeats them (annex A.2) and is set to none.
    """
    try:
        from pi_heif import HeifFile, libheif_version, options, set_orientation

        libheif_version()
    except ImportError:
        raise PdfFaultError(wire.NO_READER) from None
    options.THUMBNAILS = options.DEPTH_IMAGES = options.AUX_IMAGES = False
    # Colours of more than 8 bits come with 8: the window shows no more.
    file = HeifFile(BytesIO(data), convert_hdr_to_8bit=True, remove_stride=False)
    picture = file[file.primary_index]
    set_orientation(picture.info)
    picture.n_frames = len(file)
    return picture


def _by_pillow(data: bytes, name: str) -> Any:
    from PIL import Image

    from app.scans.kinds import PILLOW_MODULES

    import_module(PILLOW_MODULES[name])
    # The size is judged in the window's process, before anything is decoded.
    Image.MAX_IMAGE_PIXELS = None
    return Image.open(BytesIO(data), formats=[name])


def _sent_mode(image: Any) -> str:
    if image.mode in _SENT_AS_THEY_ARE:
        return str(image.mode)
    return "RGBA" if image.has_transparency_data else "RGB"


def _size(image: Any) -> Message:
    width, height = image.size
    mode = _sent_mode(image) if hasattr(image, "has_transparency_data") else image.mode
    return {"width": width, "height": height, "mode": mode}
