"""From a picture whose header has been read to levels that can be drawn, the shortest way for its kind."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QImage

from app.scans import bits
from app.scans.bilevel import read_bilevel_tiff
from app.scans.growing import Follower, lend_memory
from app.scans.levels import blank, pyramid
from app.scans.picture import Picture
from app.scans.pixels import from_bilevel, from_pillow, grey_bits
from app.scans.tone import AS_IT_IS, applied
from app.scans.watch import DECODED, Watch
from core.design import Tone

if TYPE_CHECKING:
    from PIL import Image

BIG_FROM_PIXELS = 8_000_000
"""From here on a coarse picture is shown first, and 1-bit scans stay bits."""
_LEVELLED = 0.85
_ORIENTATION = 0x0112


def big(width: int, height: int) -> bool:
    """Whether a picture of so many pixels is worth a coarse one before."""
    return width * height >= BIG_FROM_PIXELS


def orientation_of(image: Image.Image) -> int:
    """EXIF orientation, 1 to 8; 1 where it is missing or its block is damaged."""
    try:
        found: Any = image.getexif().get(_ORIENTATION, 1)
    except Exception:  # a broken EXIF block must not cost the picture
        return 1
    return found if isinstance(found, int) and 1 <= found <= 8 else 1


def _comes_in_rows(image: Image.Image) -> bool:
    """True if the decoder writes whole rows from the top down: no interlacing, no tiles side by side."""
    if image.info.get("interlace") or image.format == "JPEG2000":
        return False
    tiles: Any = getattr(image, "tile", [])
    return all(box is None or (box[0] == 0 and box[2] >= image.width) for _, box, *_ in tiles)


class Decoding:
    """One picture on its way from a header that has been read to levels that can be drawn."""

    def __init__(
        self, image: Image.Image, data: bytes, page: int, tone: Tone, watch: Watch,
        show: Callable[[Picture], None] | None,
    ) -> None:
        self._image, self._data, self._page = image, data, page
        self._tone, self._watch, self._show = tone, watch, show
        self.grey_bits = 0
        """How many bits of a deep grey are in use; 0 for all other pictures, and before it is decoded."""

    def picture(self, *, bilevel: bool, colour: bool) -> tuple[Picture, int]:
        """(the picture without dpi and notes, the orientation that was in the file)."""
        if bilevel:
            found = self._from_bits()
            if found is not None:
                return found
        return self._from_pixels(colour=colour)

    def _from_bits(self) -> tuple[Picture, int] | None:
        stored, watch = orientation_of(self._image), self._watch
        mono = read_bilevel_tiff(self._data, self._image, self._page)
        watch.tell(DECODED)
        if mono is None:
            return None
        if not big(mono.width(), mono.height()):
            level_0 = from_bilevel(mono, stored, step=watch.part(DECODED, _LEVELLED))
            return self._levelled(level_0), stored
        mono = bits.prepared(mono, stored, self._tone, watch.part(DECODED, 0.8))
        size = mono.width(), mono.height()
        if self._show is not None:
            self._show(Picture(pyramid(bits.coarse_of(mono)), *size, shrunk=8))
        half = bits.half_of(mono, watch.part(0.8, _LEVELLED))
        return Picture(pyramid(half, watch.part(_LEVELLED, 1.0)), *size, shrunk=2, bits=mono), stored

    def _from_pixels(self, *, colour: bool) -> tuple[Picture, int]:
        image, watch = self._image, self._watch
        stored = orientation_of(image) if image.format == "TIFF" else 1
        plain = image.mode == "L" and stored == 1 and not image.has_transparency_data
        own = blank(*image.size, colour=False) if plain else None
        lent = None if own is None else lend_memory(image, own)
        follower = None
        if own is not None and self._tone == AS_IT_IS and _comes_in_rows(image):
            show = self._show if image.format == "PNG" else None
            follower = watch.follower = Follower(own, show)
        watch.decoding = True
        image.load()
        watch.decoding, watch.follower = False, None
        # Pillow turns a TIFF itself while loading it, and forgets the tag.
        left = orientation_of(image)
        asked = stored if image.format == "TIFF" else left
        if own is None or left != 1 or image.im is not lent:
            follower = None
            self.grey_bits = grey_bits(image)
            step = watch.part(DECODED, _LEVELLED)
            own = from_pillow(image, left, colour=colour, step=step, grey_bits=self.grey_bits)
        if follower is None:
            return self._levelled(own), asked
        follower.growing.grow(own.height(), watch.part(DECODED, 1.0))
        return Picture(tuple(follower.growing.levels), own.width(), own.height()), asked

    def _levelled(self, level_0: QImage) -> Picture:
        if self._tone != AS_IT_IS:
            applied(level_0, self._tone, self._watch.part(DECODED, _LEVELLED))
        levels = pyramid(level_0, self._watch.part(_LEVELLED, 1.0))
        return Picture(levels, level_0.width(), level_0.height())
