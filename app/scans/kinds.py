"""What a file is, told from its first bytes and never from its name."""

from __future__ import annotations

from dataclasses import dataclass

PROMISED = "PNG, JPEG or TIFF"
_PDF = b"%PDF-"
# ISO 32000-1, annex H.3.4.1: readers take a header anywhere within the first 1024 bytes.
_PDF_WITHIN = 1024


@dataclass(frozen=True)
class PictureKind:
    """A picture format: its name, and the Pillow module that reads it."""

    name: str
    pillow_module: str


_PNG = PictureKind("PNG", "PIL.PngImagePlugin")
_JPEG = PictureKind("JPEG", "PIL.JpegImagePlugin")
_TIFF = PictureKind("TIFF", "PIL.TiffImagePlugin")
_BMP = PictureKind("BMP", "PIL.BmpImagePlugin")
_GIF = PictureKind("GIF", "PIL.GifImagePlugin")
_WEBP = PictureKind("WEBP", "PIL.WebPImagePlugin")

_PICTURES: tuple[tuple[bytes, PictureKind], ...] = (
    (b"\x89PNG\r\n\x1a\n", _PNG),
    (b"\xff\xd8\xff", _JPEG),
    (b"II*\0", _TIFF),
    (b"MM\0*", _TIFF),
    (b"II+\0", _TIFF),
    (b"MM\0+", _TIFF),
    (b"BM", _BMP),
    (b"GIF8", _GIF),
)
_FOREIGN: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", "a ZIP archive"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML document"),
    (b"%!PS", "a PostScript document"),
    (b"8BPS", "a Photoshop document"),
    (b"AT&TFORM", "a DjVu document"),
    (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture"),
    (b"\xffO\xffQ", "a JPEG 2000 picture"),
)


def picture_kind(data: bytes) -> PictureKind | None:
    """The picture format that ``data`` begins like, or None."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return _WEBP
    return next((kind for magic, kind in _PICTURES if data.startswith(magic)), None)


def is_pdf(data: bytes) -> bool:
    """Whether ``data`` is a PDF document, and no picture with one in it."""
    return picture_kind(data) is None and _PDF in data[:_PDF_WITHIN]


def foreign_kind(data: bytes) -> str:
    """What else ``data`` seems to be, with its article, for a sentence: "a ZIP archive", "text"."""
    for magic, words in _FOREIGN:
        if data.startswith(magic):
            return words
    if data[4:8] == b"ftyp":
        return "a HEIC or AVIF picture" if data[8:12] in (b"heic", b"heix", b"mif1", b"avif") else "a film"
    head = data[:1024]
    try:
        text = head.decode("utf-8", errors="strict" if len(data) <= len(head) else "ignore")
    except UnicodeDecodeError:
        return "nothing that looks like a picture"
    if all(letter.isprintable() or letter in "\t\r\n\f" for letter in text):
        return "text"
    return "nothing that looks like a picture"
