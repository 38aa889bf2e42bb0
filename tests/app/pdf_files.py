"""Small PDFs written by hand, object by object (ISO 32000-1, 7.5): their geometry is known."""

from __future__ import annotations

import zlib

import numpy as np

PT = 72 / 25.4
"""Points in a millimetre."""
A4 = (210 * PT, 297 * PT)


def pdf(objects: list[bytes]) -> bytes:
    """A file of these objects, numbered from 1; the first is the catalogue."""
    out, places = b"%PDF-1.7\n", []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    table += b"".join(b"%010d 00000 n \n" % place for place in places)
    end = b"trailer\n<</Root 1 0 R/Size %d>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, len(out))
    return out + table + end


def stream(content: bytes, entries: str = "") -> bytes:
    return b"<</Length %d%s>>\nstream\n%s\nendstream" % (len(content), entries.encode(), content)


def pages_pdf(*pages: tuple[str, str]) -> bytes:
    """A file of pages, each given by its entries ("/MediaBox[...]/Rotate 90") and its content."""
    kids = " ".join(f"{3 + 2 * i} 0 R" for i in range(len(pages)))
    objects = [b"<</Type/Catalog/Pages 2 0 R>>", f"<</Type/Pages/Kids[{kids}]/Count {len(pages)}>>".encode()]
    for i, (entries, content) in enumerate(pages):
        objects.append(f"<</Type/Page/Parent 2 0 R/Contents {4 + 2 * i} 0 R{entries}>>".encode())
        objects.append(stream(content.encode()))
    return pdf(objects)


def box(width: float, height: float, name: str = "MediaBox", left: float = 0, bottom: float = 0) -> str:
    return f"/{name}[{left:.4f} {bottom:.4f} {left + width:.4f} {bottom + height:.4f}]"


def square(left_mm: float, bottom_mm: float, side_mm: float = 100.0) -> str:
    """A black square, its left bottom corner so far from the page's.

    With a small notch in its lower side: the library widens upright rectangles to whole pixels.
    """
    x0, y0, x1, y1 = (v * PT for v in (left_mm, bottom_mm, left_mm + side_mm, bottom_mm + side_mm))
    nodes = (
        (x0, y0), (x0 + 2 * PT, y0), (x0 + 3 * PT, y0 + PT), (x0 + 4 * PT, y0), (x1, y0), (x1, y1), (x0, y1),
    )
    path = " ".join(f"{x:.5f} {y:.5f} {'l' if i else 'm'}" for i, (x, y) in enumerate(nodes))
    return f"0 g {path} h f"


def plan(entries: str = "", left_mm: float = 50, bottom_mm: float = 150) -> bytes:
    """A4 upright with a square of 100 mm on it."""
    return pages_pdf((box(*A4) + entries, square(left_mm, bottom_mm)))


def picture_pdf(grey: np.ndarray, wide_mm: float, high_mm: float, entries: str = "", more: str = "") -> bytes:
    """A page that is one embedded picture, pixels (height, width) from the top, kept without loss."""
    height, width = grey.shape
    kind = f"/Type/XObject/Subtype/Image/Width {width}/Height {height}/ColorSpace/DeviceGray"
    return pdf([
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        f"<</Type/Page/Parent 2 0 R/Contents 4 0 R{box(wide_mm * PT, high_mm * PT)}{entries}"
        "/Resources<</XObject<</P 5 0 R>>/Font<</F<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>>>"
        ">>".encode(),
        stream(f"q {wide_mm * PT:.5f} 0 0 {high_mm * PT:.5f} 0 0 cm /P Do Q {more}".encode()),
        stream(zlib.compress(grey.tobytes()), f"{kind}/BitsPerComponent 8/Filter/FlateDecode"),
    ])


def encrypted() -> bytes:
    """A file whose password nobody knows: the standard handler (7.6.3), with keys that fit no password."""
    plain = plan()
    lock = b"/Encrypt<</Filter/Standard/V 2/R 3/Length 128/P -44/O<%s>/U<%s>>>/ID[<%s><%s>]" % (
        b"5a" * 32, b"a5" * 32, b"01" * 16, b"01" * 16
    )
    return plain.replace(b"trailer\n<<", b"trailer\n<<" + lock)


def crowded(lines: int) -> bytes:
    """A page with so many lines across it, the same hundred over and over."""
    ends = np.random.default_rng(7).random((100, 4)) * 590
    hundred = "\n".join(f"{a:.0f} {b:.0f} m {c:.0f} {d:.0f} l S" for a, b, c, d in ends)
    return pages_pdf((box(*A4), "\n".join([hundred] * (lines // 100))))
