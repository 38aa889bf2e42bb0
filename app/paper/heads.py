"""The title of a design at the head of a sheet: whole, on one line or two, as long as it goes."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from app.paper.ink import Ink, one_line
from core.design import EMPTY, Design

_SIZES = (15.0, 13.0, 11.0, 9.5)
_SMALL = 8.0


def titled(design: Design, path: Path | str | None) -> Design:
    """The design under the name of its file where it has no title of its own."""
    if one_line(design.title) not in ("", EMPTY.title) or path is None:
        return design
    return replace(design, title=Path(path).stem or design.title)


def title_of(design: Design) -> str:
    """The title on one line."""
    return one_line(design.title[:20_000]) or EMPTY.title


def draw_title(ink: Ink, design: Design, x: float, y: float, room: float) -> bool:
    """Write the title over the line at ``y`` + 7.2 mm, in ``room`` mm; True if it stands there whole."""
    title = title_of(design)
    size = next((s for s in _SIZES if ink.width(title, s, bold=True) <= room), None)
    if size is not None:
        ink.text(x, y + 5.0, title, size, bold=True)
        return True
    lines = ink.whole(title, _SMALL, room, bold=True)
    ink.text(x, y + 2.0, lines[0], _SMALL, bold=True)
    second = lines[1] if len(lines) == 2 else ink.cut(" ".join(lines[1:3]) + "…", _SMALL, room, bold=True)
    ink.text(x, y + 5.4, second, _SMALL, bold=True)
    return len(lines) <= 2
