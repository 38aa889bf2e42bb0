"""Opening a scan from its bytes, in any thread.

Pillow decodes: it lets other threads run, stops when asked, tells how far it is, and raises on a
picture that is cut short (Qt shows half of it in silence). Only 1-bit TIFF goes through Qt, which
is more than twice as fast there and keeps one bit for a pixel.

A picture that is cut short is refused whole: a plan of which half is missing would be traced as if
it ended there. So is one whose damage the format can show: a checksum in PNG and Deflate. Altered
bytes inside JPEG, G4 or uncompressed pixels leave no such trace, and show as what they became.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QImage

from app.scans.bilevel import read_bilevel_tiff
from app.scans.guards import MOST_DECODED_BYTES, MOST_PIXELS, MOST_SIDE, pillow_guard
from app.scans.kinds import PROMISED, PictureKind, foreign_kind, picture_kind
from app.scans.picture import Picture, pyramid
from app.scans.pixels import UnreadableValuesError, from_bilevel, from_pillow, is_coloured, turned_size
from app.scans.resolution import given_dpi

if TYPE_CHECKING:
    from PIL import Image

MOST_COLOUR_PIXELS = 40_000_000
"""Beyond this a coloured scan is shown in grey: four bytes a pixel would be too many."""
PREVIEW_FROM_PIXELS = 8_000_000
_PREVIEW_SHRUNK = 8
_ORIENTATION = 0x0112
_BYTES_PER_PIXEL = {"1": 1, "L": 1, "P": 1, "I;16": 2, "I;16B": 2, "I;16L": 2}
# Parts of the whole time, measured on grey PNG and JPEG of 140 megapixels.
_DECODED, _LEVELLED = 0.75, 0.85


class ScanError(Exception):
    """A file that cannot be shown as a scan. Its text is one sentence for the user."""


class OpeningCancelledError(Exception):
    """``cancelled`` said so; nothing is wrong with the file."""


def open_picture(
    data: bytes,
    name: str,
    *,
    page: int = 0,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Picture:
    """The picture in ``data``, the whole content of the file ``name``, with all its levels.

    PNG, JPEG and TIFF are promised; BMP, GIF and WebP open where Pillow can. ``page`` counts from 0
    and may be other than 0 for TIFF alone; of an animation the first picture is shown. 16-bit greys
    become 8-bit, CMYK and palettes screen colours, transparent parts white, and the turn that a
    camera's orientation tag asks for is done.

    ``progress`` hears the part done, 0 to 1, rising; ``cancelled`` is asked many times a second.
    Both are called in the calling thread. Raises ScanError, or OpeningCancelledError.
    """
    label = PurePath(name).name or name
    watch = _Watch(len(data), progress, cancelled)
    with _sentences(label, data), _opened(data, label, page, watch) as image:
        _check_size(image, label)
        dpi, notes = given_dpi(image), _page_notes(image)
        colour, bilevel = is_coloured(image), image.mode == "1" and image.format == "TIFF"
        width, height = image.size
        if colour and width * height > MOST_COLOUR_PIXELS:
            colour = False
            image.draft("L", image.size)
            notes.append(f"Shown in grey: {width * height / 1e6:.0f} megapixels are too many for colour.")
        _check_memory(image, label)
        if image.mode.startswith("I;16"):
            notes.append("16-bit greys are shown as 8-bit.")
        elif image.mode == "CMYK" and colour:
            notes.append("Printing colours (CMYK) are shown as screen colours.")
        level_0, orientation = _level_0(image, data, page, bilevel=bilevel, colour=colour, watch=watch)
        if orientation != 1:
            notes.append("Turned as the orientation tag in the file asks.")
    with _sentences(label, data):
        levels = pyramid(level_0, watch.part(_LEVELLED, 1.0))
    watch.tell(1.0)
    if dpi is not None and abs(dpi[0] - dpi[1]) > 0.005 * max(dpi):
        across, down = dpi if orientation < 5 else dpi[::-1]
        notes.append(f"The file gives {across:g} dpi across but {down:g} down; set the scale by two points.")
        dpi = None
    one_dpi = None if dpi is None else dpi[0]
    return Picture(levels, level_0.width(), level_0.height(), one_dpi, " ".join(notes))


def open_preview(data: bytes, name: str, *, cancelled: Callable[[], bool] | None = None) -> Picture | None:
    """A coarse first picture of a big JPEG in a fraction of the time, an eighth of the size, grey.

    None where there is no quick way: other formats, and pictures of less than 8 megapixels. Raises
    like ``open_picture``.
    """
    kind = picture_kind(data)
    if kind is None or kind.name != "JPEG":
        return None
    label = PurePath(name).name or name
    watch = _Watch(len(data), None, cancelled)
    with _sentences(label, data), _opened(data, label, 0, watch) as image:
        _check_size(image, label)
        width, height = image.size
        if width * height < PREVIEW_FROM_PIXELS:
            return None
        image.draft("L", (width // _PREVIEW_SHRUNK, height // _PREVIEW_SHRUNK))
        shrunk = round(width / image.size[0])
        image.load()
        orientation = _orientation(image)
        levels = pyramid(from_pillow(image, orientation, colour=False, step=watch.part(0.0, 1.0)))
    return Picture(levels, *turned_size(width, height, orientation), shrunk=shrunk)


def picture_dpi(data: bytes, page: int = 0) -> tuple[float, float] | None:
    """(across, down) of the picture as shown, in dots per inch, where its file really gives them.

    None for a file that is no picture or gives none, gives one axis alone, gives exactly 72 or 96
    (cameras and screenshots write these by habit), or anything outside 50 to 4800.
    """
    try:
        with _opened(data, "", page, _Watch(len(data), None, None)) as image:
            dpi = given_dpi(image)
            # A PNG that keeps its orientation behind the picture is not decoded to learn it.
            early = image.format != "PNG" or "exif" in image.info
            return dpi[::-1] if dpi is not None and early and _orientation(image) >= 5 else dpi
    except Exception:  # whatever a damaged file makes the decoder raise, it gives no resolution
        return None


class _Watch:
    """Turns what the decoder does into progress, and stops it when it is told to."""

    def __init__(
        self, size: int, progress: Callable[[float], None] | None, cancelled: Callable[[], bool] | None
    ) -> None:
        self._size, self._progress, self._cancelled = max(size, 1), progress, cancelled
        self._told = 0.0
        self.decoding = False

    def tell(self, done: float) -> None:
        if self._cancelled is not None and self._cancelled():
            raise OpeningCancelledError
        if self._progress is not None and (done - self._told >= 0.01 or done >= 1.0 > self._told):
            self._told = done
            self._progress(min(done, 1.0))

    def has_read(self, position: int) -> None:
        # Reading the header may jump to the end of the file: that is no progress.
        self.tell(_DECODED * min(position / self._size, 1.0) if self.decoding else 0.0)

    def part(self, first: float, last: float) -> Callable[[float], None]:
        return lambda done: self.tell(first + (last - first) * done)


class _WatchedBytes(io.BytesIO):
    def __init__(self, data: bytes, watch: _Watch) -> None:
        super().__init__(data)
        self._watch = watch

    def read(self, size: int | None = -1, /) -> bytes:
        self._watch.has_read(self.tell())
        return super().read(size)


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
    except UnreadableValuesError as error:
        raise ScanError(
            f"{label}: the picture holds measured values (32-bit or fractional) instead of greys or colours;"
            " save it as 8-bit grey and open that."
        ) from error
    except Exception as error:  # decoders raise nearly anything on a damaged file
        kind = picture_kind(data)
        found = kind.name if kind is not None else "unknown"
        raise ScanError(
            f"{label}: the {found} picture is damaged, cut short or of a rare kind and cannot be read whole;"
            f" copy the file again, or save it anew as {PROMISED}."
        ) from error


@contextmanager
def _opened(data: bytes, label: str, page: int, watch: _Watch) -> Iterator[Image.Image]:
    """The picture with its header read and nothing decoded, at ``page``."""
    kind = _kind_or_refuse(data, label)
    from PIL import Image

    import_module(kind.pillow_module)
    with pillow_guard.lift(), Image.open(_WatchedBytes(data, watch), formats=[kind.name]) as image:
        if page:
            _go_to_page(image, label, page)
        yield image


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
    return kind


def _go_to_page(image: Image.Image, label: str, page: int) -> None:
    pages = getattr(image, "n_frames", 1) if image.format == "TIFF" else 1
    if not 0 <= page < pages:
        has = "one page" if pages == 1 else f"{pages} pages"
        raise ScanError(f"{label}: page {page + 1} is wanted, but the file has {has}; choose another page.")
    image.seek(page)


def _check_size(image: Image.Image, label: str) -> None:
    width, height = image.size
    if width * height > MOST_PIXELS or max(width, height) > MOST_SIDE:
        raise ScanError(
            f"{label}: the picture is {width} x {height} pixels, and at most {MOST_PIXELS // 1_000_000}"
            f" megapixels and {MOST_SIDE} pixels on a side can be opened; scan it again with fewer dpi."
        )


def _check_memory(image: Image.Image, label: str) -> None:
    width, height = image.size
    needed = width * height * _BYTES_PER_PIXEL.get(image.mode, 4)
    if needed > MOST_DECODED_BYTES:
        raise ScanError(
            f"{label}: {width} x {height} pixels in colour need {needed / 1e9:.1f} GB of memory, more than"
            f" the {MOST_DECODED_BYTES / 1e9:.1f} GB allowed; save it in grey or with fewer dots per inch."
        )


def _page_notes(image: Image.Image) -> list[str]:
    frames = getattr(image, "n_frames", 1)
    if frames == 1 or image.format == "MPO":
        return []
    if image.format == "TIFF":
        return [f"Page {image.tell() + 1} of {frames}."]
    return [f"The first of {frames} pictures in the file."]


def _orientation(image: Image.Image) -> int:
    """EXIF orientation, 1 to 8; 1 where it is missing or its block is damaged."""
    try:
        found: Any = image.getexif().get(_ORIENTATION, 1)
    except Exception:  # a broken EXIF block must not cost the picture
        return 1
    return found if isinstance(found, int) and 1 <= found <= 8 else 1


def _level_0(
    image: Image.Image, data: bytes, page: int, *, bilevel: bool, colour: bool, watch: _Watch
) -> tuple[QImage, int]:
    stored = _orientation(image) if image.format == "TIFF" else 1
    step = watch.part(_DECODED, _LEVELLED)
    if bilevel:
        mono = read_bilevel_tiff(data, image, page)
        watch.tell(_DECODED)
        if mono is not None:
            return from_bilevel(mono, stored, step=step), stored
    watch.decoding = True
    image.load()
    # Pillow turns a TIFF itself while loading it, and forgets the tag.
    left = _orientation(image)
    return from_pillow(image, left, colour=colour, step=step), stored if image.format == "TIFF" else left
