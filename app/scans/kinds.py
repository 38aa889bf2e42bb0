"""What a file is, told from its first bytes and never from its name."""

from __future__ import annotations

from dataclasses import dataclass

from core.picture_heads import HEAD_BYTES as HEAD_BYTES
from core.picture_heads import ZIP, picture_name
from core.picture_heads import is_pdf as is_pdf

PROMISED = "PNG, JPEG or TIFF"
"""What to save a picture as where its own kind cannot be read."""
OPENED = "a scan (PNG, JPEG, TIFF, PDF, HEIC, AVIF, JPEG 2000 or WebP)"
BESIDE = "app.scans.beside"
"""The module of the kinds that are decoded in a process of their own."""


@dataclass(frozen=True)
class PictureKind:
    """A picture format: its name for Pillow, the module that teaches Pillow to read it, and further:

    the feature that Pillow has to be built with, if any, and what it is called where that differs.
    """

    name: str
    module: str
    feature: str = ""
    called: str = ""

    @property
    def words(self) -> str:
        """Its name in a sentence."""
        return self.called or self.name


_KINDS = {
    kind.name: kind for kind in (
        PictureKind("PNG", "PIL.PngImagePlugin"), PictureKind("JPEG", "PIL.JpegImagePlugin"),
        PictureKind("TIFF", "app.scans.tiff"), PictureKind("BMP", "PIL.BmpImagePlugin"),
        PictureKind("GIF", "PIL.GifImagePlugin"), PictureKind("WEBP", BESIDE, "webp", "WebP"),
        PictureKind("JPEG2000", BESIDE, "jpg_2000", "JPEG 2000"), PictureKind("AVIF", BESIDE, "avif"),
        PictureKind("HEIF", BESIDE, called="HEIC"),
    )
}
PILLOW_MODULES = {
    "WEBP": "PIL.WebPImagePlugin", "JPEG2000": "PIL.Jpeg2KImagePlugin", "AVIF": "PIL.AvifImagePlugin",
}
"""What Pillow reads them with in the other process."""

_FOREIGN: tuple[tuple[bytes, str], ...] = (
    (ZIP, "a ZIP archive"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML document"),
    (b"%!PS", "a PostScript document"),
    (b"8BPS", "a Photoshop document"),
    (b"AT&TFORM", "a DjVu document"),
)


def picture_kind(data: bytes) -> PictureKind | None:
    """The picture format that ``data`` begins like, or None."""
    name = picture_name(data)
    return None if name is None else _KINDS[name]


def may_have_pages(data: bytes) -> bool:
    """True if ``data`` is of a kind that may hold several sheets: PDF or TIFF."""
    return is_pdf(data) or picture_name(data) == "TIFF"


def foreign_kind(data: bytes) -> str:
    """What else ``data`` seems to be, with its article, for a sentence: "a ZIP archive", "text"."""
    for magic, words in _FOREIGN:
        if data.startswith(magic):
            return words
    if data[4:8] == b"ftyp":
        return "a film"
    head = data[:HEAD_BYTES]
    try:
        text = head.decode("utf-8", errors="strict" if len(data) < HEAD_BYTES else "ignore")
    except UnicodeDecodeError:
        return "nothing that looks like a picture"
    if all(letter.isprintable() or letter in "\t\r\n\f" for letter in text):
        return "text"
    return "nothing that looks like a picture"
