"""What strangers' files are tried on, and what no file may do.

Hypothesis chooses a sound file and how to spoil it: bytes changed, cut, doubled, swapped between
files, numbers made huge, texts nested. A reader may refuse with its own error, never with another;
within two seconds, without writing, connecting or starting anything.
"""

from __future__ import annotations

import io
import json
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import strangers
from hypothesis import strategies as st

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

if TYPE_CHECKING:
    from app.scans.pdf_reader import PdfReader

MOST_SECONDS = 2.0


class ForbiddenError(AssertionError):
    """A reader did what no file may make it do."""


# Guard


class _Watch:
    """An audit hook (PEP 578) cannot be taken away again: one for the process, asleep most of the time."""

    def __init__(self) -> None:
        self.awake = False
        self.seen: list[str] = []
        sys.addaudithook(self._hear)

    def _hear(self, event: str, args: tuple[Any, ...]) -> None:
        if not self.awake:
            return
        # A PDF is read in a process of its own, which is started anew where a file has killed it.
        if event == "subprocess.Popen" and "app.scans.pdf_process" not in str(args[1]):
            self.seen.append(f"{event} {args[:2]!r}"[:200])
        # A number is a stream that is open already, such as the pipe to that process.
        writes = (
            event == "open" and not isinstance(args[0], int) and isinstance(args[1], str)
            and any(c in args[1] for c in "wax+")
        )
        if writes or event in (
            "socket.connect", "socket.getaddrinfo", "os.system", "os.exec", "os.remove",
            "os.rename", "os.mkdir", "shutil.rmtree", "urllib.Request",
        ):
            self.seen.append(f"{event} {args[:2]!r}"[:200])


@cache
def _watch() -> _Watch:
    return _Watch()


@contextmanager
def guarded() -> Iterator[None]:
    """ForbiddenError for a case that takes over two seconds, or reaches outside of the process."""
    watch = _watch()
    watch.seen.clear()
    watch.awake = True
    begun, working = time.perf_counter(), time.process_time()
    try:
        yield
    finally:
        watch.awake = False
    # The processor's time, since another process may have had it meanwhile; but nobody waits for ever.
    worked, took = time.process_time() - working, time.perf_counter() - begun
    if worked > MOST_SECONDS or took > 5 * MOST_SECONDS:
        raise ForbiddenError(f"it worked {worked:.1f} s and took {took:.1f} s")
    if watch.seen:
        raise ForbiddenError("; ".join(watch.seen))


# Spoiling

_NUMBERS = (
    b"1e308", b"-1e308", b"1e-308", b"NaN", b"Infinity", b"-0", b"99999999999999999999", b"0x10", b"1e9",
    b"4294967295", b"-2147483648", b"1_000", b"\xef\xbc\x91", b"",
)
_TEXTS = (
    b"<!DOCTYPE x [<!ENTITY a 'aaaaaaaaaa'><!ENTITY b '&a;&a;&a;&a;&a;&a;&a;&a;'>]>", b"&b;&b;", b"&#x41;",
    b"<!ENTITY f SYSTEM 'file:///etc/passwd'>", b"http://127.0.0.1/", b"../../../etc/passwd", b"\x00",
    b"<use href='#a'/>", b"{" * 50, b"[" * 50, b"<g>" * 50, b"  0\nINSERT\n  2\nA\n", b"\xff\xfe", b"\r\n",
    b"design.json", b"PK\x03\x04", b"%", b"\xe2\x80\xae",
)
Step = tuple[str, float, float, int]
STEPS = st.lists(
    st.tuples(
        st.sampled_from((
            "byte", "flip", "cut", "double", "drop", "number", "text", "zero", "graft", "end", "length",
        )),
        st.floats(0, 1), st.floats(0, 1), st.integers(0, 255),
    ),
    max_size=8,
)


def spoiled(sound: bytes, other: bytes, steps: list[Step]) -> bytes:
    """``sound`` with every step done to it; ``other`` is where grafts come from."""
    data = bytearray(sound)
    for what, where, how_far, value in steps:
        at = int(where * len(data))
        span = 1 + int(how_far * how_far * min(len(data), 4000))
        if what == "byte" and data:
            data[min(at, len(data) - 1)] = value
        elif what == "flip" and data:
            data[min(at, len(data) - 1)] ^= 1 << (value % 8)
        elif what == "cut":
            del data[at:]
        elif what == "double" and len(data) < 300_000:
            data[at:at] = data[at : at + span] * (1 + value % 4)
        elif what == "drop":
            del data[at : at + span]
        elif what == "number":
            end = at
            while end < len(data) and chr(data[end]) in "0123456789.-+eE":
                end += 1
            data[at:end] = _NUMBERS[value % len(_NUMBERS)]
        elif what == "text":
            data[at:at] = _TEXTS[value % len(_TEXTS)]
        elif what == "zero":
            data[at : at + span] = bytes(len(data[at : at + span]))
        elif what == "graft":
            begin = int(how_far * len(other))
            data[at:at] = other[begin : begin + 4 * value]
        elif what == "end":
            data += bytes([value]) * span
        elif what == "length" and len(data) - at >= 4:
            data[at : at + 4] = (value << 23 | 0x7FFFFF).to_bytes(4, "big" if value % 2 else "little")
    return bytes(data)


# Targets


@dataclass(frozen=True)
class Target:
    """A reader and sound files for it. ``read`` lets nothing but its own errors be swallowed."""

    name: str
    corpus: Callable[[], tuple[bytes, ...]]
    read: Callable[[bytes], object]


def _read_design(data: bytes) -> None:
    from core.design_check import problems, safe_name
    from core.design_file import DesignFileError, encode, unpack

    try:
        found = unpack(data)
    except DesignFileError as error:
        assert error.sentences and all(error.sentences)
        return
    assert problems(found.design) == []
    assert all(safe_name(name) for name in found.pictures), "a name that leaves the container"
    encode(found.design)


def _read_json(data: bytes) -> None:
    from core.design_check import problems
    from core.design_file import DesignFileError, decode, encode

    try:
        design = decode(data)
    except DesignFileError as error:
        assert error.sentences and all(error.sentences)
        return
    assert problems(design) == []
    assert decode(encode(design)) == design


def _mend(data: bytes) -> None:
    from core.design_check import problems
    from core.design_file import DesignFileError, decode, encode
    from core.design_mending import mended

    try:
        design, without = mended(data)
    except DesignFileError as error:
        assert error.sentences and all(error.sentences)
        return
    assert problems(design) == [] and decode(encode(design)) == design and all(without)
    try:
        sound = decode(data)
    except DesignFileError:
        assert without, "something is amiss, and nothing is said to be left out"
    else:
        assert (design, without) == (sound, ())


def _read_scan(data: bytes) -> None:
    from app.scans.faults import ScanError
    from app.scans.opening import open_picture, open_preview, picture_dpi, picture_sheets

    for opening in (open_preview, open_picture):
        try:
            picture = opening(data, "plan")
        except ScanError as error:
            assert "\n" not in str(error)
            continue
        if picture is not None:
            assert picture.width > 0 and picture.height > 0 and picture.levels
    try:
        pages = picture_sheets(data, "plan")
        assert pages and pages == tuple(sorted(set(pages)))
    except ScanError as error:
        assert "\n" not in str(error)
    dpi = picture_dpi(data)
    assert dpi is None or all(0 < figure < 1e5 for figure in dpi)


@cache
def _pdf_reader() -> PdfReader:
    import atexit

    from app.scans.pdf_reader import PdfReader

    # Less time than the window gives: a case that takes longer has to be refused for it.
    reader = PdfReader(seconds=1.0, idle=60.0)
    atexit.register(reader.stop)
    return reader


def _read_pdf(data: bytes) -> None:
    from app.scans.faults import ScanError
    from app.scans.pdf import open_pdf

    try:
        picture = open_pdf(data, "plan.pdf", reader=_pdf_reader())
    except ScanError as error:
        assert "\n" not in str(error)
        return
    assert picture.width > 0 and picture.height > 0 and picture.levels


def _read_drawing(ending: str) -> Callable[[bytes], None]:
    def read(data: bytes) -> None:
        from app.paper.exchange import read_outlines
        from core.design import EMPTY
        from core.design_check import problems
        from core.exchange.faults import ExchangeError

        try:
            found = read_outlines(ending, data, None, 1.0)
        except ExchangeError as error:
            assert str(error)
            return
        from msgspec.structs import replace

        assert problems(replace(EMPTY, outlines=found.outlines)) == []

    return read


@cache
def _pdfs() -> tuple[bytes, ...]:
    """Two small files written out by hand (ISO 32000-1, 7.5), one of them with a picture in it."""

    def pdf(bodies: list[bytes]) -> bytes:
        out, places = b"%PDF-1.7\n", []
        for number, body in enumerate(bodies, 1):
            places.append(len(out))
            out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
        table = b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1)
        table += b"".join(b"%010d 00000 n \n" % place for place in places)
        return out + table + b"trailer\n<</Root 1 0 R/Size %d>>\nstartxref\n%d\n%%%%EOF\n" % (
            len(bodies) + 1, len(out)
        )

    def stream(content: bytes, entries: bytes = b"") -> bytes:
        return b"<</Length %d%s>>\nstream\n%s\nendstream" % (len(content), entries, content)

    roots = [b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>"]
    lines = b"0 g 40 40 m 140 40 l 90 150 l h f 20 20 m 10 90 80 90 70 20 c S BT ET"
    page = b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 200 160]/Rotate 90/Contents 4 0 R%s>>"
    shown = b"/Resources<</XObject<</P 5 0 R>>>>"
    picture = stream(
        bytes(range(256)), b"/Type/XObject/Subtype/Image/Width 16/Height 16/BitsPerComponent 8"
        b"/ColorSpace/DeviceGray",
    )
    return (
        pdf([*roots, page % b"", stream(lines)]),
        pdf([*roots, page % shown, stream(b"q 200 0 0 160 0 0 cm /P Do Q"), picture]),
    )


def _read_units(data: bytes) -> None:
    from core.units import (
        UnitError,
        format_length,
        parse_angle,
        parse_fraction,
        parse_length,
        parse_mass,
        parse_number,
        parse_speed,
    )

    text = data.decode("utf-8", "replace")
    for units in ("mm", "in", "in64"):
        try:
            length = parse_length(text, units)  # type: ignore[arg-type]
        except UnitError as error:
            assert str(error)
        else:
            assert abs(length) < float("inf")
            format_length(length, units)  # type: ignore[arg-type]
        with suppress(UnitError):
            assert 0 <= abs(parse_mass(text, units)) < float("inf")  # type: ignore[arg-type]
        with suppress(UnitError):
            assert 0 < parse_speed(text, units) <= 400  # type: ignore[arg-type]
    with suppress(UnitError):
        assert abs(parse_angle(text)) <= 360
    with suppress(UnitError):
        assert abs(parse_fraction(text)) <= 10
    with suppress(UnitError):
        assert 1 <= parse_number(text, low=1, high=100, what="Scale") <= 100


@cache
def _designs() -> tuple[bytes, ...]:
    from core.design_file import encode, read

    found = [read(path).design for path in sorted((ROOT / "sample_designs").glob("*.sternpost"))]
    found += [read(path).design for path in sorted((ROOT / "tests/core/formats").glob("*.sternpost"))]
    return tuple(encode(design) for design in found)


@cache
def _containers() -> tuple[bytes, ...]:
    made = []
    for text in _designs():
        raw = json.loads(text)
        for how in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            held = io.BytesIO()
            with zipfile.ZipFile(held, "w", how) as container:
                container.writestr("design.json", text)
                for scan in raw.get("scans", ()):
                    container.writestr(scan["file"], b"\x89PNG\r\n\x1a\n" + bytes(200))
                container.writestr("../../escape.png", b"x")
            made.append(held.getvalue())
    return tuple(made)


@cache
def _pictures() -> tuple[bytes, ...]:
    from PIL import Image

    ramp = Image.linear_gradient("L").resize((96, 64))
    made = []
    for mode, name, more in (
        ("L", "PNG", {}), ("RGB", "PNG", {}), ("P", "PNG", {}), ("1", "PNG", {}), ("I;16", "PNG", {}),
        ("RGBA", "PNG", {}), ("L", "JPEG", {"quality": 30}), ("RGB", "JPEG", {"progressive": True}),
        ("CMYK", "JPEG", {}), ("1", "TIFF", {"compression": "group4"}), ("L", "TIFF", {}),
        ("RGB", "TIFF", {"compression": "tiff_lzw"}), ("L", "TIFF", {"compression": "tiff_deflate"}),
        ("RGB", "BMP", {}), ("P", "GIF", {}), ("RGB", "WEBP", {}), ("I;16", "TIFF", {}),
        ("L", "AVIF", {}), ("RGB", "AVIF", {"quality": 40}), ("RGBA", "AVIF", {}), ("L", "JPEG2000", {}),
        ("RGB", "JPEG2000", {"irreversible": True}), ("L", "JPEG2000", {"no_jp2": True}),
        ("RGB", "JPEG2000", {"tile_size": (32, 32)}),
    ):
        held = io.BytesIO()
        picture = ramp if mode == "I;16" else ramp.convert(mode)
        if mode == "I;16":
            picture = ramp.convert("I").point(lambda v: v * 256).convert("I;16")
        picture.save(held, name, dpi=(300, 300), **more)
        made.append(held.getvalue())
    held = io.BytesIO()
    ramp.save(held, "TIFF", save_all=True, append_images=[ramp.rotate(90)])
    heic = (path.read_bytes() for path in sorted((ROOT / "tests/app/scans").glob("*.heic")))
    return (*made, held.getvalue(), *heic)


@cache
def _drawings(to: str) -> tuple[bytes, ...]:
    from app.paper.exchange import exported
    from core.design_file import decode

    made = [exported(decode(text), to) for text in _designs()]
    if to == "svg":
        made.append(
            b"<svg xmlns='http://www.w3.org/2000/svg' width='4in' height='3cm' viewBox='0 0 400 300'>"
            b"<g transform='rotate(10) scale(2)'>"
            b"<path d='M1 1h9v9a3 3 0 0 1-9 0zm20 0q5 5 9 0t9 9s3 3 4 4z'/>"
            b"<rect x='1' y='2' width='30' height='40' rx='3'/><circle cx='9' cy='9' r='5'/>"
            b"<polygon points='0,0 9,0 9,9'/><ellipse cx='4' cy='4' rx='3' ry='2'/></g></svg>"
        )
        made.append(
            b"<!DOCTYPE svg PUBLIC '-//W3C//DTD SVG 1.1//EN' 'svg11.dtd'>"
            b"<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' "
            b"width='90mm' viewBox='0 0 90 60'><defs><g id='a'><path id='b' d='M0 0h9v9z'/>"
            b"<use href='#b' x='3'/></g><symbol id='s' viewBox='0 0 4 4'><use xlink:href='#a'/></symbol>"
            b"</defs>"
            b"<use href='#a' x='5' transform='scale(2 -1)'/><use xlink:href='#s' width='20' height='10'/>"
            b"<svg x='5' width='9' height='9' viewBox='0 0 3 3'><use href='#s'/></svg>"
            b"<g id='fin-x2-clear-fin' display='none'><use href='#b'/></g></svg>"
        )
    else:
        made += [_blocks(), _splines()]
    return tuple(made)


def _dxf(draw: Callable[[Any], None]) -> bytes:
    from ezdxf.filemanagement import new

    drawing = new("R2010")
    draw(drawing)
    held = io.StringIO()
    drawing.write(held)
    return held.getvalue().encode()


def _blocks() -> bytes:
    """Blocks in blocks, in rows and columns, turned over; layers that are off and frozen."""

    def draw(drawing: Any) -> None:
        fin, pair, many = (drawing.blocks.new(name) for name in ("fin", "pair", "many"))
        fin.add_lwpolyline([(0, 0, 0.4), (30, 0, 0), (30, 20, 0)], format="xyb", close=True)
        fin.add_circle((5, 5), 7, {"layer": "wheel x2"})
        pair.add_blockref("fin", (3, 4), {"rotation": 30, "xscale": 2})
        pair.add_blockref("fin", (30, 4), {"yscale": -1})
        many.add_blockref("pair", (1, 1), {"row_count": 2, "column_count": 3, "row_spacing": 50,
                                           "column_spacing": 90})
        drawing.layers.add("old").off()
        drawing.layers.add("scrap").freeze()
        space = drawing.modelspace()
        space.add_blockref("many", (0, 0), {"extrusion": (0, 0, -1)})
        space.add_blockref("pair", (0, 0), {"layer": "scrap"})
        space.add_circle((0, 0), 9, {"layer": "old"})

    return _dxf(draw)


def _splines() -> bytes:
    """Splines of every sort."""

    def draw(drawing: Any) -> None:
        space = drawing.modelspace()
        round_ = [(0, 0, 0), (60, -10, 0), (82, 21, 0), (60, 50, 0), (10, 55, 0), (-15, 25, 0)]
        for degree in (2, 3, 5):
            space.add_spline().set_closed(round_, degree)
            space.add_spline().set_closed_rational(round_, [1, 2, 0.5, 1, 3, 1], degree)
        space.add_open_spline([*round_, round_[0]])
        space.add_rational_spline([*round_, round_[0]], [1, 2, 0.5, 1, 3, 1, 1])
        space.add_spline(round_)
        space.add_spline(round_).closed = True

    return _dxf(draw)


def _lengths() -> tuple[bytes, ...]:
    return tuple(
        text.encode() for text in (
            "52 in", "3 3/32", "1.32 m", "-1 1/2\"", "12,5 mm", "4' 3 1/2\"", "185 g", "6 1/2 oz",
            "2 lb 3 oz",            "1e3", "½", "3½ in", "0.25", " 7 mm ", "1/3", "5 thou", "٣", "1 000 mm",
        )
    )


TARGETS: dict[str, Target] = {
    target.name: target for target in (
        Target("container", _containers, _read_design),
        Target("design", _designs, _read_json),
        Target("mending", _designs, _mend),
        Target("scan", _pictures, _read_scan),
        Target("pdf", _pdfs, _read_pdf),
        Target("svg", lambda: _drawings("svg"), _read_drawing(".svg")),
        Target("dxf", lambda: _drawings("dxf"), _read_drawing(".dxf")),
        Target("units", _lengths, _read_units),
        Target("words", strangers.words, strangers.read_words),
        Target("beside", strangers.bare_designs, strangers.read_bare),
        Target("bombs", strangers.bombs, strangers.read_bombs),
    )
}


@cache
def warm(name: str) -> None:
    """Read the sound files once: what is imported on the way is not the files' doing."""
    target = TARGETS[name]
    for data in target.corpus():
        target.read(data)


def try_one(target: Target, which: int, graft: int, steps: list[Step]) -> None:
    """One case: whatever the reader makes of it, it keeps to the rules."""
    warm(target.name)
    corpus = target.corpus()
    data = spoiled(corpus[which % len(corpus)], corpus[graft % len(corpus)], steps)
    with guarded():
        target.read(data)
