"""What the window shows at its size: which columns are open, and whether the hands have words.

What the builder folded or opened stays so, also the next time; the rest goes by the room there is.
Where two columns cannot both be open the one that was asked for last is.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRect, QSettings, QSize, QTimer, Signal
from PySide6.QtWidgets import QSplitter, QWidget

from app.kit.folding import Folding
from app.kit.overrides import errors_told
from app.panels.hands import HandsPanel

FIRST = QSize(1400, 860)
"""The size of a first start where the screen has more, in px."""
_FRAME = QSize(16, 40)
"""What a window's frame takes, at most, as long as nobody knows: before it is shown."""
_GOOD_WIDTH, _GOOD_HEIGHT, _WORDED_WIDTH = 440, 740, 600
"""px: so much width should the profile have beside open lists, the window height with the area band open,
and the profile width beside hands with words."""
NAMES = ("lists", "readings", "band", "words")


@errors_told
class Room(QObject):
    """Folds and opens columns and bands of one window."""

    changed = Signal()

    def __init__(
        self, hands: HandsPanel, lists: Folding, readings: Folding, band: Folding, split: QSplitter
    ) -> None:
        super().__init__(split)
        self._hands, self._split = hands, split
        self._parts = {"lists": lists, "readings": readings, "band": band}
        self._wants: dict[str, bool | None] = {}
        for name in NAMES:
            kept = QSettings().value(f"room/{name}")
            self._wants[name] = None if kept is None else str(kept).lower() == "true"
        self._last = "readings"
        self._size = QSize()
        self._known: dict[str, int] = {}
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.setInterval(0)
        self._again.timeout.connect(lambda: self.fit(self._size))
        for name, part in self._parts.items():
            part.asked.connect(lambda is_open, n=name: self.choose(n, is_open))
            part.content.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if event.type() == QEvent.Type.LayoutRequest and self._known != self._needs():
            # What stands in a column came to need more room than when the columns were laid out.
            self._again.start()
        return False

    def _needs(self) -> dict[str, int]:
        return {name: part.least for name, part in self._parts.items() if not part.folded}

    def is_open(self, name: str) -> bool:
        """True if that part is seen: one of NAMES."""
        return self._hands.worded if name == "words" else not self._parts[name].folded

    def choose(self, name: str, is_open: bool) -> None:
        """The builder wants it open or folded, from now on."""
        self._wants[name] = is_open
        QSettings().setValue(f"room/{name}", is_open)
        if is_open and name in ("lists", "readings"):
            self._last = name
        self.fit(self._size)

    def forget(self) -> None:
        """Go by the room there is again, as if nobody had ever folded or opened anything."""
        self._wants, self._last = dict.fromkeys(NAMES), "readings"
        QSettings().remove("room")
        self.fit(self._size)

    def reveal(self, name: str) -> None:
        """Something in it is wanted: open it for now, whatever was chosen."""
        if not self.is_open(name):
            kept, self._wants[name] = self._wants[name], True
            self._last = name
            self.fit(self._size)
            self._wants[name] = kept if kept is None else True

    def _middle(self) -> int:
        middle = self._split.widget(1)
        return 0 if middle is None else max(middle.minimumWidth(), middle.minimumSizeHint().width())

    def fit(self, size: QSize) -> None:
        """Fold and open for a window of that size, in px."""
        self._size = QSize(size)
        if size.isEmpty():
            return
        shown = self._open_columns(size.width())
        rest = self._rest(size.width(), shown)
        # Opened ones last: the sum of what must be seen never grows past the window on the way.
        for name in sorted(shown, key=lambda n: shown[n]):
            self._parts[name].set_folded(not shown[name])
        band = self._wants["band"]
        self._parts["band"].set_folded(not (size.height() >= _GOOD_HEIGHT if band is None else band))
        words = self._wants["words"]
        more = self._hands.width_if(True) - self._hands.width_if(False)
        needs = _WORDED_WIDTH if words is None else self._middle()
        tall = size.height() - 60 >= self._hands.height_with_words()
        worded = words is not False and rest - more >= needs and (tall or words is True)
        if worded != self._hands.worded:
            self._hands.set_worded(worded)
        self._give(size.width())
        self._known = self._needs()
        self.changed.emit()

    def _rest(self, width: int, shown: dict[str, bool]) -> int:
        """What the middle gets in px with these columns open and no words."""
        for name, is_open in shown.items():
            part = self._parts[name]
            width -= part.wished if is_open else part.edge.fontMetrics().height() + 8
        return width - self._hands.width_if(False) - 4

    def _open_columns(self, width: int) -> dict[str, bool]:
        shown = {name: self._wants[name] is not False for name in ("readings", "lists")}
        if self._wants["lists"] is None and self._rest(width, shown) < _GOOD_WIDTH:
            shown["lists"] = False
        for name in sorted(shown, key=lambda n: n == self._last):
            if self._rest_at_least(width, shown) < self._middle():
                shown[name] = False
        return shown

    def _rest_at_least(self, width: int, shown: dict[str, bool]) -> int:
        for name, is_open in shown.items():
            part = self._parts[name]
            width -= part.least if is_open else part.edge.fontMetrics().height() + 8
        return width - self._hands.width_if(False) - 4

    def _give(self, width: int) -> None:
        """The columns as wide as they were, and the rest to the middle."""
        lists, readings = self._parts["lists"], self._parts["readings"]
        spare = width - self._hands.width() - 2
        sides = [p.edge.thick if p.folded else p.wished for p in (lists, readings)]
        if spare - sum(sides) < self._middle():
            sides = [p.edge.thick if p.folded else p.least for p in (lists, readings)]
        self._split.setSizes([sides[0], spare - sum(sides), sides[1]])


def first_size(room: QRect) -> QSize:
    """How large a window is at a first start, on a screen whose free part is ``room`` (px)."""
    return FIRST.boundedTo(room.size() - _FRAME)


def on_the_screen(frame: QRect, room: QRect) -> QRect:
    """``frame`` moved, and made smaller, so that all of it lies in ``room`` (px of the screen)."""
    size = frame.size().boundedTo(room.size())
    left = min(max(frame.left(), room.left()), room.x() + room.width() - size.width())
    top = min(max(frame.top(), room.top()), room.y() + room.height() - size.height())
    return QRect(left, top, size.width(), size.height())


def onto_the_screen(window: QWidget) -> None:
    """Have all of the window on its screen, frame and all, wherever it was shown the last time."""
    if window.isMaximized() or window.isFullScreen():
        return
    frame, inner = window.frameGeometry(), window.geometry()
    wanted = on_the_screen(frame, window.screen().availableGeometry())
    if wanted != frame:
        window.resize(inner.size() - (frame.size() - wanted.size()))
        window.move(wanted.topLeft())
