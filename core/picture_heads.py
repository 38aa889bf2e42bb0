"""What a picture's file is, told from its first bytes and never from its name."""

from __future__ import annotations

HEAD_BYTES = 1024
"""So much of a file's beginning is enough for everything here."""
ZIP = b"PK\x03\x04"
# ISO 32000-1, annex H.3.4.1: readers take a header anywhere within the first 1024 bytes.
_PDF, _PDF_WITHIN = b"%PDF-", 1024

_HEADS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"\xff\xd8\xff", "JPEG"),
    (b"II*\0", "TIFF"),
    (b"MM\0*", "TIFF"),
    (b"II+\0", "TIFF"),
    (b"MM\0+", "TIFF"),
    (b"BM", "BMP"),
    (b"GIF8", "GIF"),
    # ISO/IEC 15444-1, annex I.5.1: the signature box; A.4.1: a bare codestream, SOC and SIZ.
    (b"\0\0\0\x0cjP  \r\n\x87\n", "JPEG2000"),
    (b"\xff\x4f\xff\x51", "JPEG2000"),
)
_AVIF_BRANDS = frozenset((b"avif", b"avis"))
"""AV1 Image File Format, section 6."""
_HEIF_BRANDS = frozenset((b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs"))
"""ISO/IEC 23008-12, annex B.4: coded by HEVC."""
_IMAGE_BRANDS = frozenset((b"mif1", b"mif2", b"msf1", b"miaf"))
"""The same, clause 10: pictures of any coding."""


_ENDINGS: dict[str, tuple[str, ...]] = {
    "PNG": (".png",), "JPEG": (".jpg", ".jpeg", ".jpe", ".jfif"), "TIFF": (".tif", ".tiff"),
    "BMP": (".bmp", ".dib"), "GIF": (".gif",), "WEBP": (".webp",), "AVIF": (".avif", ".avifs"),
    "HEIF": (".heic", ".heif", ".hif"), "JPEG2000": (".jp2", ".j2k", ".jpf", ".jpx", ".j2c", ".jpc"),
}
ENDINGS = frozenset((".pdf", ".scan", *(ending for endings in _ENDINGS.values() for ending in endings)))
"""What files of scans end in; the content decides all the same."""


def ending_of(data: bytes) -> str:
    """The ending for what begins like ``data``, ".png"; ".scan" where that is nothing known."""
    if is_pdf(data):
        return ".pdf"
    return _ENDINGS.get(picture_name(data) or "", (".scan",))[0]


def picture_name(data: bytes) -> str | None:
    """The picture format that ``data`` begins like, by its usual short name; None for anything else."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    if data[4:8] == b"ftyp":
        return _name_by_brand(data)
    return next((name for magic, name in _HEADS if data.startswith(magic)), None)


def is_pdf(data: bytes) -> bool:
    """Whether ``data`` is a PDF document, and no picture or archive (a design, too) with one in it."""
    return picture_name(data) is None and not data.startswith(ZIP) and _PDF in data[:_PDF_WITHIN]


def may_be_scan(data: bytes) -> bool:
    """True if ``data`` begins like something that a scan can be: a picture or a PDF."""
    return picture_name(data) is not None or is_pdf(data)


def _name_by_brand(data: bytes) -> str | None:
    """ISO/IEC 14496-12, 4.3: the box of the file's type, its own brand first and then those it goes with."""
    length = min(int.from_bytes(data[:4], "big"), HEAD_BYTES)
    brands = [data[8:12], *(data[at : at + 4] for at in range(16, min(length, len(data)) - 3, 4))]
    for brand in brands:
        if brand in _AVIF_BRANDS:
            return "AVIF"
        if brand in _HEIF_BRANDS:
            return "HEIF"
    return "HEIF" if _IMAGE_BRANDS & set(brands) else None
