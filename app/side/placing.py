"""Where a window beside the window stands when it opens: beside it, or where it hides least of what it shows.

Pure, but for ``stand``. Pixels of the screen.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import QPoint, QRect, QRectF, QSettings, QSize, Qt
from PySide6.QtWidgets import QWidget

from app.canvas.canvas import Canvas
from app.canvas.extent import extent
from core.design import EMPTY, Outline

_GAP = 8
_TITLE = 32
"""px: what a window's title takes, as long as nobody knows."""
_MOVED = 48
"""px: less is what the system moves it by; nobody does so little to get it out of the way."""


def stand(dialog: QWidget, canvas: Canvas, name: str, is_shown: Callable[[Outline], bool]) -> None:
    """Move ``dialog`` to where it was left, or beside the window whose ``canvas`` it shows something on.

    ``is_shown``: true of the outlines that it must not hide.
    """
    window = canvas.window()
    room = window.screen().availableGeometry()
    kept = QSettings().value(f"beside/{name}")
    if isinstance(kept, QRect) and kept.isValid():
        size = _within(kept.size(), dialog, room)
        dialog.resize(size)
        dialog.move(_inside(QRect(kept.topLeft(), size), room))
        return
    there, whole = window.frameGeometry(), on_screen(canvas, canvas.design.outlines)
    free = on_screen(canvas, tuple(o for o in canvas.design.outlines if is_shown(o)))
    resized = dialog.testAttribute(Qt.WidgetAttribute.WA_Resized)
    size = _within(dialog.size() if resized else dialog.sizeHint(), dialog, room)
    place = place_of(_framed(size), there, room, free, whole)
    if free is not None and QRect(place, _framed(size)).intersects(free):
        ahead = free.left() - room.left() - _GAP
        if least_of(dialog).width() <= ahead < size.width():
            # Narrower it stands ahead of the tail, and nothing of it is hidden.
            size.setWidth(ahead)
            place = place_of(_framed(size), there, room, free, whole)
    dialog.resize(size)
    dialog.move(place)


def keep_place(dialog: QWidget, name: str, at_first: QPoint) -> None:
    """Remember where ``dialog`` is, if the builder moved it from ``at_first``."""
    if (dialog.pos() - at_first).manhattanLength() > _MOVED:
        QSettings().setValue(f"beside/{name}", QRect(dialog.pos(), dialog.size()))


def place_of(
    size: QSize, there: QRect, room: QRect, free: QRect | None = None, whole: QRect | None = None
) -> QPoint:
    """The upper left corner of what is ``size`` large, frame and all, and stands by the window ``there``.

    Beside the window where ``room`` has place for it; else where it hides nothing of what shall be
    ``free``, and as little as can be of the ``whole``; the lower left before others, where noses are.
    """
    wide, tall = size.width(), size.height()
    left, top = room.left(), max(room.top(), min(there.top(), room.bottom() + 1 - tall))
    right, bottom = room.x() + room.width() - wide, max(room.top(), room.bottom() + 1 - tall)
    behind = there.x() + there.width()
    if room.x() + room.width() - behind >= wide + _GAP:
        return QPoint(behind + _GAP, top)
    if there.left() - room.left() >= wide + _GAP:
        return QPoint(there.left() - _GAP - wide, top)
    xs = [left, right]
    if free is not None:
        xs.append(max(left, free.left() - _GAP - wide))
    places = [QPoint(x, y) for x in xs for y in (bottom, room.top())]

    def hidden(at: QPoint) -> tuple[int, int]:
        box = QRect(at, size)
        return _overlap(box, free), _overlap(box, whole)

    return min(places, key=hidden)


def on_screen(canvas: Canvas, outlines: tuple[Outline, ...]) -> QRect | None:
    """What these outlines cover on the screen; None where that is nothing."""
    if not any(outline.nodes for outline in outlines):
        return None
    low_x, low_z, high_x, high_z = extent(replace(EMPTY, outlines=outlines), {})
    (x0, y0), (x1, y1) = canvas.view.to_px(low_x, high_z), canvas.view.to_px(high_x, low_z)
    seen = QRectF(x0, y0, x1 - x0, y1 - y0).toAlignedRect().intersected(canvas.rect())
    return QRect(canvas.mapToGlobal(seen.topLeft()), seen.size()) if seen.isValid() else None


def tall_enough(dialog: QWidget) -> None:
    """Have ``dialog`` at least as high as its rows are at its width, so far as the screen is; all on it.

    Qt asks what can break into several lines for its height, but holds no window to the answer.
    """
    layout = dialog.layout()
    if layout is None:
        return
    wide = max(dialog.width(), layout.totalMinimumSize().width())
    needed = max(layout.totalMinimumSize().height(), layout.totalMinimumHeightForWidth(wide))
    room = dialog.screen().availableGeometry()
    least = min(needed, room.height() - _TITLE)
    if dialog.minimumHeight() == least:
        return
    grows = least > dialog.height()
    dialog.setMinimumHeight(least)
    if grows and dialog.isVisible() and room.contains(dialog.pos()):
        over = dialog.y() + least + _TITLE - room.y() - room.height()
        if over > 0:
            dialog.move(dialog.x(), max(room.y(), dialog.y() - over))


def least_of(dialog: QWidget) -> QSize:
    """How small ``dialog`` can be, in px."""
    return dialog.minimumSize().expandedTo(dialog.minimumSizeHint())


def _within(size: QSize, dialog: QWidget, room: QRect) -> QSize:
    return size.expandedTo(least_of(dialog)).boundedTo(room.size() - QSize(0, _TITLE))


def _framed(size: QSize) -> QSize:
    return size + QSize(0, _TITLE)


def _inside(box: QRect, room: QRect) -> QPoint:
    return QPoint(
        max(room.left(), min(box.left(), room.x() + room.width() - box.width())),
        max(room.top(), min(box.top(), room.y() + room.height() - box.height() - _TITLE)),
    )


def _overlap(box: QRect, other: QRect | None) -> int:
    if other is None:
        return 0
    both = box.intersected(other)
    return max(both.width(), 0) * max(both.height(), 0)
