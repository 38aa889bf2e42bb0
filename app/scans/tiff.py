"""TIFF as Pillow reads it, and which of a file's pictures are sheets of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PIL import TiffImagePlugin

if TYPE_CHECKING:
    from PIL import Image

_NEW_SUBFILE, _SUBFILE = 254, 255
# TIFF 6.0, section 8: a reduced picture of another one (bit 0), a mask for one (bit 2).
_NO_SHEET_BITS, _REDUCED = 0b101, 2
_GREY_INTS, _ONE = (1,), 1

# Deep greys of which a large number is dark; turning them round is our work (``pixels``).
for _order, _bits, _mode, _raw in (
    (b"MM", 16, "I;16B", "I;16B"), (b"II", 12, "I;16", "I;12"), (b"II", 16, "I;16", "I;16"),
):
    TiffImagePlugin.OPEN_INFO.setdefault((_order, 0, _GREY_INTS, _ONE, (_bits,), ()), (_mode, _raw))


def sheets_of(image: Image.Image) -> tuple[int, ...]:
    """The numbers, from 0, of the pictures in an opened TIFF that are no previews or masks of others.

    ``image`` stands where it stood before. Raises whatever a damaged directory makes Pillow raise.
    """
    stands, found = image.tell(), []
    count = int(getattr(image, "n_frames", 1))
    if count == 1:
        return (0,)
    try:
        for number in range(count):
            image.seek(number)
            tags: Any = getattr(image, "tag_v2", {})
            new, old = tags.get(_NEW_SUBFILE, 0), tags.get(_SUBFILE, 0)
            if not (isinstance(new, int) and new & _NO_SHEET_BITS) and old != _REDUCED:
                found.append(number)
    finally:
        image.seek(stands)
    return tuple(found) or tuple(range(count))
