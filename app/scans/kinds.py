"""What a file is, told from its first bytes and never from its name."""

from __future__ import annotations

from dataclasses import dataclass

PROMISED = "PNG, JPEG or TIFF"
"""What to save a picture as where its own kind cannot be read."""
OPENED = "a scan (PNG, JPEG, TIFF, PDF, HEIC, AVIF, JPEG 2000 or WebP)"
HEAD_BYTES = 1024
"""So much of a file's beginning is enough for everything here."""
BESIDE = "app.scans.beside"
"""The module of the kinds that are decoded in a process of their own."""
_PDF, _ZIP = b"%PDF-", b"PK\x03\x04"
# ISO 32000-1, annex H.3.4.1: readers take a header anywhere within the first 1024 bytes.
_PDF_WITHIN = 1024


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


_PNG = PictureKind("PNG", "PIL.PngImagePlugin")
_JPEG = PictureKind("JPEG", "PIL.JpegImagePlugin")
_TIFF = PictureKind("TIFF", "app.scans.tiff")
_BMP = PictureKind("BMP", "PIL.BmpImagePlugin")
_GIF = PictureKind("GIF", "PIL.GifImagePlugin")
_WEBP = PictureKind("WEBP", BESIDE, "webp", "WebP")
_JPEG_2000 = PictureKind("JPEG2000", BESIDE, "jpg_2000", "JPEG 2000")
_AVIF = PictureKind("AVIF", BESIDE, "avif")
_HEIF = PictureKind("HEIF", BESIDE, called="HEIC")
PILLOW_MODULES = {
    "WEBP": "PIL.WebPImagePlugin", "JPEG2000": "PIL.Jpeg2KImagePlugin", "AVIF": "PIL.AvifImagePlugin",
}
"""What Pillow reads them with in the other process."""

_PICTURES: tuple[tuple[bytes, PictureKind], ...] = (
    (b"\x89PNG\r\n\x1a\n", _PNG),
    (b"\xff\xd8\xff", _JPEG),
    (b"II*\0", _TIFF),
    (b"MM\0*", _TIFF),
    (b"II+\0", _TIFF),
    (b"MM\0+", _TIFF),
    (b"BM", _BMP),
    (b"GIF8", _GIF),
    # ISO/IEC 15444-1, annex I.5.1: the signature box; A.4.1: a bare codestream, SOC and SIZ.
    (b"\0\0\0\x0cjP  \r\n\x87\n", _JPEG_2000),
    (b"\xff\x4f\xff\x51", _JPEG_2000),
)
_AVIF_BRANDS = frozenset((b"avif", b"avis"))
"""AV1 Image File Format, section 6."""
_HEIF_BRANDS = frozenset((b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs"))
"""ISO/IEC 23008-12, annex B.4: coded by HEVC."""
_IMAGE_BRANDS = frozenset((b"mif1", b"mif2", b"msf1", b"miaf"))
"""The same, clause 10: pictures of any coding."""
_FOREIGN: tuple[tuple[bytes, str], ...] = (
    (_ZIP, "a ZIP archive"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML document"),
    (b"%!PS", "a PostScript document"),
    (b"8BPS", "a Photoshop document"),
    (b"AT&TFORM", "a DjVu document"),
)


def picture_kind(data: bytes) -> PictureKind | None:
    """The picture format that ``data`` begins like, or None."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return _WEBP
    if data[4:8] == b"ftyp":
        return _kind_by_brand(data)
    return next((kind for magic, kind in _PICTURES if data.startswith(magic)), None)


def is_pdf(data: bytes) -> bool:
    """Whether ``data`` is a PDF document, and no picture or archive (a design, too) with one in it."""
    return picture_kind(data) is None and not data.startswith(_ZIP) and _PDF in data[:_PDF_WITHIN]


def may_have_pages(data: bytes) -> bool:
    """True if ``data`` is of a kind that may hold several sheets: PDF or TIFF."""
    return is_pdf(data) or picture_kind(data) is _TIFF


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


def _kind_by_brand(data: bytes) -> PictureKind | None:
    """ISO/IEC 14496-12, 4.3: the box of the file's type, its own brand first and then those it goes with."""
    length = min(int.from_bytes(data[:4], "big"), HEAD_BYTES)
    brands = [data[8:12], *(data[at : at + 4] for at in range(16, min(length, len(data)) - 3, 4))]
    for brand in brands:
        if brand in _AVIF_BRANDS:
            return _AVIF
        if brand in _HEIF_BRANDS:
            return _HEIF
    return _HEIF if _IMAGE_BRANDS & set(brands) else None
