"""The profile band: scan, outlines and marks, and the hand that works on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QEvent, QObject, QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QCursor,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.canvas.extent import extent
from app.canvas.frame import slip_px
from app.canvas.half_drawn import HalfDrawn
from app.canvas.kind_offer import KindOffer
from app.canvas.layers import Ghost
from app.canvas.painting import Painting
from app.canvas.panning import Panning
from app.canvas.scan_ink import ScanInk
from app.canvas.tools.all_hands import all_hands
from app.canvas.tools.edit import EditHand
from app.canvas.tools.hand import ARROWS, Hand
from app.canvas.translation import (
    CURSORS,
    KEYS,
    ends_a_run,
    holds,
    is_hands,
    pinched,
    pointer_of,
    stepped,
    wheeled,
)
from app.canvas.view import View, fitted
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.scans.lying_sheet import FoundSheet
from app.scans.shelf import Shelf
from app.work.document import Change, Document
from app.work.readout import Readout
from app.work.selection import Picked, Selection
from core.design import Design
from core.kinds import Kind
from core.redesign.scan_edits import Size


@errors_told
class Canvas(QWidget):
    """Draws the side view and hands mouse and keys to the hand in use. It is the hands' bench."""

    view_changed = Signal()
    hand_changed = Signal(str)
    hint_changed = Signal()
    cursor_at = Signal(float, float)
    said = Signal(str)
    told = Signal(str)
    outline_traced = Signal(str)
    menu_wanted = Signal(QPointF)

    def __init__(
        self, document: Document, readout: Readout, picked: Picked, shelf: Shelf, theme: Theme
    ) -> None:
        super().__init__()
        self._document, self._readout, self._picked, self._shelf = document, readout, picked, shelf
        self.painting = Painting(document, readout, picked, shelf, theme)
        self.view = View()
        self._fit_wanted = True
        self.kinds = KindOffer(document, lambda: self.hand.busy)
        self._panning = Panning()
        self.ink = ScanInk(self, shelf.picture_of, self)
        self.ink.ready.connect(self._refresh)
        self._edit_hand = EditHand(self)
        self.hands = all_hands(self, self._edit_hand)
        self.hand: Hand = self.hands["edit"]
        self.half_drawn = HalfDrawn(self, self.hands["trace"], document, self.kinds, shelf.sizes)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumSize(320, 160)
        self.setAccessibleName("Profile: the side view over the plan")
        # event() handed on by super() would make any handler's IndexError a crash of PySide (Python 3.11).
        self.installEventFilter(self)
        readout.listen(self._changed)
        picked.listen(lambda _: self._selected())
        shelf.changed.connect(self._scans_changed)

    # The bench that the hands stand at

    @property
    def design(self) -> Design:
        """What the hand works on: never a proposal, whatever is on view."""
        return self._document.edited

    @property
    def busy(self) -> bool:
        """True if a gesture is under way."""
        return self._document.busy

    @property
    def selection(self) -> Selection:
        """What is selected."""
        return self._picked.now

    @property
    def scan_sizes(self) -> dict[str, Size]:
        """Pixels of every scan that is open, by scan id."""
        return self._shelf.sizes(self._document.edited)

    def sheet_of(self, scan_id: str) -> FoundSheet | None:
        """The sheet that was found in a photograph."""
        return self._shelf.sheet_of(self._document.edited, scan_id)

    def select(self, selection: Selection) -> None:
        """Select; see ``app.work.selection``."""
        self._picked.set(selection)

    def begin(self, name: str, *, lasting: bool = False) -> None:
        """A gesture begins; see ``Document.begin``."""
        self._document.begin(name, lasting=lasting)

    def preview(self, design: Design) -> None:
        """Show what the gesture would do."""
        self._document.preview(design, "canvas")

    def commit(self) -> None:
        """The gesture ends."""
        self._document.commit("canvas")

    def abort(self) -> None:
        """The gesture never was."""
        self._document.abort("canvas")

    def apply(self, name: str, edit: Callable[[Design], Design]) -> None:
        """One edit at once."""
        self._document.apply(name, edit, "canvas")

    def say(self, sentence: str) -> None:
        """One sentence for the person: what could not be done, or is in the way."""
        self.said.emit(sentence)

    def tell(self, sentence: str) -> None:
        """One sentence for the person: what was done."""
        self.told.emit(sentence)

    def shift_view(self, dx: float, dz: float) -> None:
        """The datum moved by (dx, dz) mm: look where the same paper is now."""
        self.set_view(replace(self.view, x=self.view.x - dx, z=self.view.z - dz))

    def traced(self, outline_id: str) -> None:
        """An outline was closed."""
        self.kinds.traced(outline_id)
        self.outline_traced.emit(outline_id)

    def take_hand(self, name: str) -> None:
        """Take another hand; the one in use drops its gesture, and what is half drawn waits."""
        if name != self.hand.name:
            before = self.hand
            before.hand_over()
            before.leave()
            self.hand = self.hands[name]
            self.half_drawn.hand_taken(before)
            self.hand_changed.emit(name)
        self._refresh()

    @property
    def tracing_kind(self) -> Kind:
        """What the next outline is."""
        return self.kinds.kind

    def set_tracing_kind(self, kind: Kind) -> None:
        """The builder chose what the next outline is."""
        self.kinds.choose(kind)
        self._refresh()

    # Seeing

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.painting.set_theme(theme)
        self.update()

    @property
    def show_weights(self) -> bool:
        """Whether the weights are what is worked on: labelled, and taken hold of before anything else."""
        return self._edit_hand.weights_first

    @show_weights.setter
    def show_weights(self, show: bool) -> None:
        self._edit_hand.weights_first = show
        self.update()

    @property
    def ghost(self) -> Ghost | None:
        """A kept state that is shown under the outlines; None for none."""
        return self.painting.ghost

    @ghost.setter
    def ghost(self, ghost: Ghost | None) -> None:
        self.painting.ghost = ghost
        self.update()

    def set_view(self, view: View) -> None:
        """Look elsewhere; the bands beneath follow."""
        if view != self.view:
            self.view = view
            self._fit_wanted = False
            self.view_changed.emit()
            self.update()

    def fit(self) -> None:
        """Show everything there is."""
        shown = self._shelf.with_guest(self._document.design)
        self.set_view(fitted(extent(shown, self._shelf.sizes(shown)), self.width(), self.height()))
        self._fit_wanted = True

    def zoom(self, factor: float) -> None:
        """Zoom about the middle."""
        self.set_view(self.view.zoomed(factor, self.width() / 2, self.height() / 2))

    def show_full_size(self) -> None:
        """1:1 with the paper, by the screen's own idea of its size."""
        self.zoom(self.logicalDpiX() / 25.4 / self.view.scale)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        if self._fit_wanted:
            self.fit()
        else:
            self.view_changed.emit()
        super().resizeEvent(event)

    def _scans_changed(self) -> None:
        # With outlines there, a picture that arrives changes nothing about where to look.
        if self._fit_wanted and not self._document.design.outlines:
            self.fit()
        self.half_drawn.go_on()
        self.update()

    def _changed(self, change: Change) -> None:
        other_design = change.what == "file" and change.name in ("opened", "recovered")
        if change.what == "design" or other_design:
            if other_design or (change.origin != "canvas" and self.hand.name in ("edit", "cg")):
                # What the hand held is no longer what it took hold of.
                self.hand.leave()
            if other_design:
                self.kinds.forget()
                if self._document.trace is not None:
                    self.take_hand("trace")
            self._picked.set(self._picked.now.within(self._document.committed))
            self.half_drawn.go_on()
        if change.what == "preview":
            self.update(self.painting.moved(self.rect(), self.view, show_weights=self.show_weights))
        else:
            self._refresh()

    def _selected(self) -> None:
        self.hand.settle()
        self._refresh()

    def _refresh(self) -> None:
        self.half_drawn.tell()
        self.update()
        self.hint_changed.emit()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        self.painting.paint(
            painter, event.rect(), self, self.view, self.hand, self.half_drawn.overlay(),
            show_weights=self.show_weights,
        )
        painter.end()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(900, 460)

    # Mouse and keys

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        self.setFocus()
        self.hand.settle()
        self.painting.begin(self.rect())
        button = event.button()
        if self._panning.pressed(event):
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
        elif button == Qt.MouseButton.LeftButton:
            self.hand.press(pointer_of(event, self.view))
            self._follow(event.position())
        elif button == Qt.MouseButton.RightButton:
            self.menu_wanted.emit(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        at = event.position()
        if self._panning.afoot:
            self.set_view(self._panning.moved(at, self.view, self.devicePixelRatioF()))
        else:
            self.painting.figure_at = at
            self.hand.move(pointer_of(event, self.view), bool(event.buttons() & Qt.MouseButton.LeftButton))
            self._follow(at)
        self.cursor_at.emit(*self.view.to_mm(at.x(), at.y()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        if self._panning.released(event.button()):
            self._show_cursor()
        elif event.button() == Qt.MouseButton.LeftButton:
            self.hand.release(pointer_of(event, self.view))
            self._follow(event.position())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        if event.button() == Qt.MouseButton.LeftButton and not self._panning.space:
            self.hand.double(pointer_of(event, self.view))
            self._follow(event.position())

    def _follow(self, at: QPointF) -> None:
        self.painting.figure_at = at
        self._show_cursor()
        if self._document.busy and self.hand.busy and not self.hand.overlay_moves:
            # The preview has seen to what moved; the slip beside the cursor went on with it.
            self.update(slip_px(at))
            self.hint_changed.emit()
        else:
            self._refresh()

    def _show_cursor(self) -> None:
        shape = Qt.CursorShape.OpenHandCursor if self._panning.space else CURSORS[self.hand.cursor()]
        if self.cursor().shape() != shape:
            self.setCursor(QCursor(shape))

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: D102
        self.set_view(wheeled(event, self.view))
        event.accept()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if isinstance(event, QNativeGestureEvent):
            self.set_view(pinched(event, self.view))
            return event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture
        if isinstance(event, QKeyEvent) and ends_a_run(event):
            # Before undo, saving and the like: they find it done.
            self.hand.settle()
        if isinstance(event, QKeyEvent) and is_hands(event):
            event.accept()
            return True
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        if self._panning.key(event, down=True):
            self._show_cursor()
            return
        if holds(event) and self._hold(True, again=event.isAutoRepeat()):
            return
        name = KEYS.get(Qt.Key(event.key()))
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if name and self.hand_key(name, shift=shift):
            return
        if name in ARROWS:
            self.set_view(stepped(name, shift, self.view))
            return
        super().keyPressEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: D102
        return self.hand_key("Tab", shift=not forward) or super().focusNextPrevChild(forward)

    def hand_key(self, key: str, *, shift: bool = False) -> bool:
        """A key for the hand in use, from the keyboard or a menu; whether it was used."""
        used = self.hand.key(key, shift=shift)
        self._refresh()
        return used

    def keyReleaseEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        if self._panning.key(event, down=False):
            self._show_cursor()
            return
        if holds(event) and self._hold(False, again=event.isAutoRepeat()):
            return
        super().keyReleaseEvent(event)

    def _hold(self, down: bool, *, again: bool = False) -> bool:
        """The key that is held went down or up; ``again`` where it only repeats itself."""
        if again:
            return True
        used = self.hand.hold(down)
        if used:
            self._refresh()
        return used

    def focusOutEvent(self, event: object) -> None:  # noqa: D102
        self._panning.space = False
        self._hold(False)
        self.hand.settle()
        self.update()
