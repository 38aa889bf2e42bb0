"""Opening a scan from its bytes, in any thread.

Pillow decodes: it lets other threads run, stops when asked, tells how far it is, and raises on a
picture that is cut short (Qt shows half of it in silence). Only 1-bit TIFF goes through Qt, which
is more than twice as fast there and keeps one bit for a pixel.

A picture that is cut short is refused whole: a plan of which half is missing would be traced as if
it ended there. So is one whose damage the format can show: a checksum in PNG and Deflate. Altered
bytes inside JPEG, HEIC, G4 or uncompressed pixels leave no such trace, and show as what they became.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from importlib import import_module
from importlib.util import find_spec
from pathlib import PurePath
from typing import TYPE_CHECKING

from app.scans.boxes import codestream_ends, ends_in_the_file
from app.scans.costs import decoding_bytes
from app.scans.decoding import Decoding, big, orientation_of
from app.scans.faults import OpeningCancelledError, ScanError, UnreadableValuesError
from app.scans.frames import go_to_page, page_notes, sheets
from app.scans.guards import (
    MOST_DECODED_BYTES,
    MOST_JPEG_PASSES,
    MOST_PIXELS,
    MOST_SECONDS,
    MOST_SIDE,
    one_big_at_a_time,
    pillow_guard,
)
from app.scans.kinds import BESIDE, PROMISED, PictureKind, foreign_kind, is_pdf, picture_kind
from app.scans.levels import pyramid
from app.scans.photograph import has_camera_tags, looks_like_photograph
from app.scans.picture import Picture, without_finest
from app.scans.pixels import from_pillow, is_coloured, turned_size
from app.scans.resolution import given_dpi
from app.scans.sheet_corners import sheet_in
from app.scans.tone import AS_IT_IS, applied
from app.scans.watch import Watch, WatchedBytes
from core.design import Tone

if TYPE_CHECKING:
    from PIL import Image

MOST_COLOUR_PIXELS = 40_000_000
"""Beyond this a coloured scan is shown in grey: four bytes a pixel would be too many."""
MOST_SHARP_PIXELS = 200_000_000
"""Beyond this a grey scan is kept at half its sharpness: a byte a pixel would be too many."""
_PREVIEW_SHRUNK = 8
_IS_WHOLE = {"HEIF": ends_in_the_file, "JPEG2000": codestream_ends}
"""What tells a picture that is cut short, where its decoder would show what is left of it."""


def open_picture(
    data: bytes,
    name: str,
    *,
    page: int = 0,
    tone: Tone = AS_IT_IS,
    preview: Callable[[Picture], None] | None = None,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Picture:
    """The picture in ``data``, the whole content of the file ``name``, with all its levels.

    PNG, JPEG and TIFF are promised; BMP, GIF, WebP, AVIF and JPEG 2000 open where Pillow can, HEIC where
    ``pi-heif`` is installed; of PDFs see ``open_pdf``. ``page`` counts from 0 and may be other than 0 for
    TIFF and PDF alone; of other files with several the main picture is shown. Greys of more than 8 bits
    become 8-bit, by the range that they use; CMYK and palettes screen colours, transparent parts white,
    and the turn that a camera asks for is done.

    ``tone`` changes how it is shown; an inverted picture is grey. 1-bit scans from 8 megapixels on
    come as ``Picture.bits``, greys beyond MOST_SHARP_PIXELS half as sharp.

    ``preview`` hears coarse pictures of 8 megapixels or more on the way: of JPEG and 1-bit TIFF one
    at once, of PNG what has been decoded by then, several times. ``progress`` hears the part done,
    0 to 1, rising; ``cancelled`` is asked many times a second. All are called in the calling thread.
    Raises OpeningCancelledError, or ScanError: also after MOST_SECONDS, so that no file, however it
    was made, keeps a thread busy for good.
    """
    if is_pdf(data):
        from app.scans.pdf import open_pdf

        return open_pdf(data, name, page=page, tone=tone, progress=progress, cancelled=cancelled)
    label = PurePath(name).name or name
    watch = Watch(len(data), progress, cancelled)
    with _sentences(label, data), _opened(data, label, page, watch) as image:
        _check_size(image, label)
        dpi, notes = given_dpi(image), page_notes(image)
        colour, bilevel = is_coloured(image), image.mode == "1" and image.format == "TIFF"
        colour = colour and not tone.invert
        width, height = image.size
        if colour and width * height > MOST_COLOUR_PIXELS:
            colour = False
            image.draft("L", image.size)
            notes.append(f"Shown in grey: {width * height / 1e6:.0f} megapixels are too many for colour.")
        _check_memory(image, data, label)
        if image.mode == "CMYK" and colour:
            notes.append("Printing colours (CMYK) are shown as screen colours.")
        with one_big_at_a_time(width * height, watch.wait):
            show = preview if big(width, height) else None
            if show is not None and image.format == "JPEG":
                _show_jpeg(data, label, tone, watch, show)
            work = Decoding(image, data, page, tone, watch, show)
            picture, orientation = work.picture(bilevel=bilevel, colour=colour)
            if work.grey_bits:
                notes.append(f"{work.grey_bits}-bit greys are shown as 8-bit.")
        camera = has_camera_tags(image)
        if orientation != 1:
            notes.append("Turned as the orientation tag in the file asks.")
    if width * height > MOST_SHARP_PIXELS and picture.bits is None:
        picture = without_finest(picture)
        notes.append(f"Shown half as sharp: {width * height / 1e6:.0f} megapixels of grey are too many.")
    watch.tell(1.0)
    if dpi is not None and abs(dpi[0] - dpi[1]) > 0.005 * max(dpi):
        across, down = dpi if orientation < 5 else dpi[::-1]
        notes.append(f"The file gives {across:g} dpi across but {down:g} down; set the scale by two points.")
        dpi = None
    # A camera has measured no dots per inch, whatever it writes.
    one_dpi = None if dpi is None or camera else dpi[0]
    photograph = camera or (tone == AS_IT_IS and looks_like_photograph(picture.levels))
    whole = picture.width, picture.height
    sheet = sheet_in(picture.levels, whole) if photograph and tone == AS_IT_IS else None
    return replace(picture, dpi=one_dpi, note=" ".join(notes), photograph=photograph, sheet=sheet)


def open_preview(data: bytes, name: str, *, cancelled: Callable[[], bool] | None = None) -> Picture | None:
    """A coarse first picture of a big JPEG in a fraction of the time, an eighth of the size, grey.

    None where there is no quick way: other formats, and pictures of less than 8 megapixels. Raises
    like ``open_picture``.
    """
    kind = picture_kind(data)
    if kind is None or kind.name != "JPEG":
        return None
    label = PurePath(name).name or name
    watch = Watch(len(data), None, cancelled)
    with _sentences(label, data), _opened(data, label, 0, watch) as image:
        _check_size(image, label)
        width, height = image.size
        if not big(width, height):
            return None
        image.draft("L", (width // _PREVIEW_SHRUNK, height // _PREVIEW_SHRUNK))
        shrunk = round(width / image.size[0])
        image.load()
        orientation = orientation_of(image)
        levels = pyramid(from_pillow(image, orientation, colour=False, step=watch.part(0.0, 1.0)))
    return Picture(levels, *turned_size(width, height, orientation), shrunk=shrunk)


def picture_sheets(
    data: bytes, name: str, *, cancelled: Callable[[], bool] | None = None
) -> tuple[int, ...]:
    """The page numbers, from 0, that are sheets of their own; 0 alone for all kinds but TIFF.

    Raises like ``open_picture``.
    """
    label = PurePath(name).name or name
    watch = Watch(len(data), None, cancelled)
    with _sentences(label, data), _opened(data, label, 0, watch) as image:
        return sheets(image)


def picture_size(
    data: bytes, name: str, page: int, *, cancelled: Callable[[], bool] | None = None
) -> tuple[int, int]:
    """(width, height) in pixels of a page as shown, nothing decoded. Raises like ``open_picture``."""
    label = PurePath(name).name or name
    watch = Watch(len(data), None, cancelled)
    with _sentences(label, data), _opened(data, label, page, watch) as image:
        _check_size(image, label)
        return turned_size(*image.size, orientation_of(image))


def picture_dpi(data: bytes, page: int = 0) -> tuple[float, float] | None:
    """(across, down) of the picture as shown, in dots per inch, where its file really gives them.

    None for a file that is no picture or gives none, gives one axis alone, gives exactly 72 or 96
    (cameras and screenshots write these by habit), anything outside 50 to 4800, or any beside a camera's
    tags.
    """
    try:
        with _opened(data, "", page, Watch(len(data), None, None)) as image:
            dpi = given_dpi(image)
            # A PNG that keeps its tags behind the picture is not decoded to learn them.
            if dpi is None or (image.format == "PNG" and "exif" not in image.info):
                return dpi
            if has_camera_tags(image):
                return None
            return dpi[::-1] if orientation_of(image) >= 5 else dpi
    except Exception:  # whatever a damaged file makes the decoder raise, it gives no resolution
        return None


@contextmanager
def _sentences(label: str, data: bytes) -> Iterator[None]:
    """Turn whatever the decoders raise into one sentence."""
    try:
        yield
    except (ScanError, OpeningCancelledError):
        raise
    except MemoryError as error:
        raise ScanError(
            f"{label}: there is not enough memory for this picture; close other programs, or scan it again"
            " in grey or with fewer dots per inch."
        ) from error
    except TimeoutError as error:
        raise ScanError(
            f"{label}: the picture was not read within {MOST_SECONDS:.0f} s, so it is damaged or far too big;"
            f" save it anew as {PROMISED}."
        ) from error
    except UnreadableValuesError as error:
        raise ScanError(
            f"{label}: the picture holds measured values (32-bit or fractional) instead of greys or colours;"
            " save it as 8-bit grey and open that."
        ) from error
    except Exception as error:  # decoders raise nearly anything on a damaged file
        kind = picture_kind(data)
        if isinstance(error, ImportError) and kind is not None:
            raise _not_installed(kind, label) from error
        found = kind.words if kind is not None else "unknown"
        raise ScanError(
            f"{label}: the {found} picture is damaged, cut short or of a rare kind and cannot be read whole;"
            f" copy the file again, or save it anew as {PROMISED}."
        ) from error


@contextmanager
def _opened(data: bytes, label: str, page: int, watch: Watch) -> Iterator[Image.Image]:
    """The picture with its header read and nothing decoded, at ``page``."""
    kind = _kind_or_refuse(data, label)
    from PIL import Image

    opener = _learnt(kind, label)
    whole = _IS_WHOLE.get(kind.name)
    if whole is not None and not whole(data):
        raise ValueError("cut short")
    with pillow_guard.lift(), Image.open(WatchedBytes(data, watch), formats=[opener]) as image:
        if page:
            go_to_page(image, label, page)
        yield image


def _learnt(kind: PictureKind, label: str) -> str:
    """Have Pillow know this kind, and by which name; ScanError where what reads it is not installed."""
    from PIL import features

    module = import_module(kind.module)
    there = find_spec("pi_heif") is not None if kind.name == "HEIF" else True
    if not there or (kind.feature and not features.check(kind.feature)):
        raise _not_installed(kind, label)
    return str(module.opener(kind.name)) if kind.module == BESIDE else kind.name


def _not_installed(kind: PictureKind, label: str) -> ScanError:
    why = "pi-heif is not installed" if kind.name == "HEIF" else "Pillow was built without them"
    return ScanError(f"{label}: {kind.words} pictures cannot be read here, {why}; save it as {PROMISED}.")


def _kind_or_refuse(data: bytes, label: str) -> PictureKind:
    if not data:
        raise ScanError(f"{label}: the file is empty; scan or copy it again.")
    kind = picture_kind(data)
    if kind is None:
        raise ScanError(f"{label}: found {foreign_kind(data)}; save the plan as {PROMISED} and open that.")
    if kind.name == "PNG" and len(data) >= 24:
        # Pillow calls a picture without pixels "not a PNG"; say what is the matter instead.
        width, height = struct.unpack(">II", data[16:24])
        if data[12:16] == b"IHDR" and 0 in (width, height):
            raise ScanError(f"{label}: the picture has no pixels ({width} x {height}); scan it again.")
    # In the picture's own bytes 0xff stands before nothing but a marker: this one begins a pass.
    if kind.name == "JPEG" and data.count(b"\xff\xda") > MOST_JPEG_PASSES:
        raise ScanError(f"{label}: the JPEG picture is built up in too many passes; save it as PNG.")
    return kind


def _check_size(image: Image.Image, label: str) -> None:
    width, height = image.size
    if width * height > MOST_PIXELS or max(width, height) > MOST_SIDE:
        raise ScanError(
            f"{label}: the picture is {width} x {height} pixels, and at most {MOST_PIXELS // 1_000_000}"
            f" megapixels and {MOST_SIDE} pixels on a side can be opened; scan it again with fewer dpi."
        )


def _check_memory(image: Image.Image, data: bytes, label: str) -> None:
    width, height = image.size
    needed = width * height * decoding_bytes(image, data)
    if needed > MOST_DECODED_BYTES:
        how = " in colour" if is_coloured(image) else ""
        raise ScanError(
            f"{label}: {width} x {height} pixels{how} need {needed / 1e9:.1f} GB of memory, more than"
            f" the {MOST_DECODED_BYTES / 1e9:.1f} GB allowed; save it in grey, with fewer dots per inch, or"
            f" as {PROMISED}."
        )


def _show_jpeg(data: bytes, label: str, tone: Tone, watch: Watch, show: Callable[[Picture], None]) -> None:
    """The decoder's own eighth of the size, in half the time; grey, its lines not thickened."""
    coarse = open_preview(data, label, cancelled=watch.cancelled)
    if coarse is not None:
        plain = Tone(level=tone.level, invert=tone.invert)
        if plain != AS_IT_IS:
            applied(coarse.levels[0], plain)
            coarse = replace(coarse, levels=pyramid(coarse.levels[0]))
        show(coarse)
