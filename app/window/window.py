"""The window: which panel sits where, and which menu entry calls what. No logic of its own."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QMimeData, QPointF, QSettings, QSize, Qt, QTimer
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QIcon,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QApplication,
    QMainWindow,
    QStackedWidget,
    QTabWidget,
)

from app.canvas.arm_rule import ArmRule
from app.canvas.band_place import BandPlace
from app.canvas.canvas import Canvas
from app.keeping.keeping import Keeper
from app.keeping.units import empty_design
from app.kit.field_keys import FieldKeys
from app.kit.folding import Folding
from app.kit.heap import keep_pictures_apart
from app.kit.overrides import errors_told
from app.kit.theme import Theme, data_folder
from app.panels.alternatives_panel import AlternativesPanel
from app.panels.answer import AnswerPanel
from app.panels.hand_strip import HandStrip
from app.panels.hands import HandsPanel
from app.panels.outlines import OutlinesPanel
from app.panels.readings import ReadingsPanel
from app.panels.scans import ScansPanel
from app.panels.status import StatusLine
from app.panels.surfaces import SurfacesPanel
from app.panels.unsafe_note import UnsafeNote
from app.panels.weights import WeightsPanel
from app.panels.welcome import Welcome
from app.scans.shelf import Shelf
from app.side.beside import Beside
from app.window.action_states import show_states, show_undo
from app.window.context_menu import context_menu
from app.window.counting import Counting
from app.window.dressing import Dressing
from app.window.dropping import Drops, is_ours
from app.window.edit_commands import EditCommands
from app.window.exchanging import Exchanging
from app.window.filing import Filing
from app.window.guidance import Guidance
from app.window.layout import column, left_column, right_column, side_by_side
from app.window.menu_entries import (
    edit_menu,
    file_menu,
    hands_menu,
    help_menu,
    paper_menu,
    redesign_menu,
    view_menu,
)
from app.window.menus import Menus
from app.window.photographs import Photographs
from app.window.recents import Recents
from app.window.recounting import Recounter
from app.window.room import Room, first_size
from app.window.side_windows import SideWindows
from app.window.undoing import Undoing
from app.work.desk import Desk
from app.work.document import Change, Document
from app.work.readout import Readout
from app.work.selection import Picked

if TYPE_CHECKING:
    from app.canvas.area_band import AreaBand

_LEAST = QSize(800, 480)
"""px: the profile with strip and arm rule, and one column open beside it."""


@errors_told
class Window(QMainWindow):
    """One design in one window."""

    def __init__(self, document: Document | None = None) -> None:
        super().__init__()
        self._app = application()
        self.document = document or Document(empty_design())
        # Before all that computes and shows: the work is kept even where one of those fails.
        self.keeper = Keeper(self, self.document)
        self.readout = Readout(self.document)
        self.picked = Picked()
        self.shelf = Shelf(self)
        self._dressing = Dressing(self._app, self)
        self._begun_blank = False
        self.setWindowIcon(QIcon(str(data_folder("icons") / "sternpost.png")))
        self.setAcceptDrops(True)
        self._drops = Drops(self)
        self.resize(first_size(self.screen().availableGeometry()))
        self._dressing.put_on()

        self.tabs, self.middle = QTabWidget(), QStackedWidget()
        self.recounter = Recounter(self.document, self.readout, self)
        self.counting = Counting(self.readout, self)
        self.canvas = Canvas(self.document, self.readout, self.picked, self.shelf, self.theme)
        self.arm_rule = ArmRule(self.document, self.readout, self.canvas, self.theme)
        self.band_place = BandPlace(self.readout, self.canvas, self.theme)
        self.strip = HandStrip(self.document, self.readout, self.canvas, self.theme)
        self.undoing = Undoing(self.document, self.canvas)
        self.desk = Desk(
            self.document, self.readout, self.picked, self.shelf, self.strip.say, self.undoing.undo,
            self.undoing.redo,
        )
        self.filing = Filing(self, self.document, self.readout, self.shelf, self.strip.say)
        self.exchange = Exchanging(self, self.document, self.picked, self.strip.say)
        self.edits = EditCommands(self.document, self.picked, self.strip.say)
        self.hands = HandsPanel(
            self.canvas, self.readout, self.theme, self.filing.open_scan,
            lambda: self.menus.actions["sheet"].trigger(),
        )
        self.outlines = OutlinesPanel(
            self.document, self.readout, self.picked, self.theme, self.strip.say
        )
        self.scans = ScansPanel(self.document, self.readout, self.shelf, self.theme)
        self.photographs = Photographs(self.document, self.canvas, self.shelf, self.strip, self.scans)
        self.surfaces = SurfacesPanel(self.document, self.readout, self.theme, self.strip.say)
        self.weights = WeightsPanel(self.document, self.readout, self.picked, self.theme, self.strip.say)
        self.kept = AlternativesPanel(
            self.document, self.readout, self.canvas, self.theme, self.strip.say
        )
        self.answer = AnswerPanel(self.document, self.readout, self.theme)
        self.readings = ReadingsPanel(self.document, self.readout, self.theme, self.strip.say)
        self.welcome = Welcome(self.theme)
        self.unsafe = UnsafeNote(self.theme)
        self.status = StatusLine(self.document, self.readout, self.canvas, self.theme)
        self._lay_out()
        self.side = SideWindows(lambda: self.beside, lambda: self.menus.actions)
        self.guidance = Guidance(
            self, self.readout, self.canvas, self.side, partial(getattr, self), self.filing.open_sample,
            self.theme,
        )
        self.menus = self._menus()
        self._connect()
        self._refresh()
        # Once, so that no page of the strip makes the window grow: all of them fit into this.
        self.setMinimumSize(_LEAST)
        self.room.fit(self.size())

    def _lay_out(self) -> None:
        for panel, name in (
            (self.outlines, "Outlines"), (self.scans, "Scans"), (self.surfaces, "Wings"),
            (self.weights, "Weights"), (self.kept, "Kept"),
        ):
            self.tabs.addTab(panel, name)
        self.tabs.currentChanged.connect(self._tab_changed)
        self.middle.addWidget(self.welcome)
        below = Folding(self.band_place, "Side area along the length", "below")
        self.middle.addWidget(column(self.strip, self.canvas, self.arm_rule, below, grows=1))
        left, right = left_column(self.tabs), right_column(self.answer, self.readings)
        self.folds = (left, right, below)
        middle = column(self.unsafe, self.middle, grows=1)
        frame, split = side_by_side(self.hands, left, middle, right)
        self.room = Room(self.hands, left, right, below, split)
        self.setCentralWidget(frame)
        self.setStatusBar(self.status)
        for fold in self.folds:
            fold.set_theme(self.theme)

    def _menus(self) -> Menus:
        menus = Menus(self)
        file_menu(menus, self.filing, self.exchange, self._offer_kept, self.keeper.look_aside)
        edit_menu(menus, self.desk, self.edits, self.canvas, self.outlines, self.paste, self.side)
        hands_menu(menus, self.canvas, self.hands)
        redesign_menu(menus, self.side, self.edits, self._show_kept)
        paper_menu(menus, self.side)
        view_menu(menus, self.canvas, self.edits, self.set_theme, self.room)
        help_menu(menus, self.guidance)
        self.guidance.follow(menus)
        return menus

    def _connect(self) -> None:
        self.readout.listen(self._changed)
        self.document.refused = self.strip.say
        self.document.listen(lambda change: self._refresh() if change.what == "trace" else None)
        self.canvas.hand_changed.connect(lambda _: self._refresh_actions())
        self.picked.listen(lambda _: self._refresh_actions())
        self.scans.open_button.clicked.connect(self.filing.open_scan)
        self.filing.leaving.connect(self._before_leaving)
        self.filing.scan_opened.connect(self._scan_opened)
        self.filing.sample_opened.connect(self.guidance.sample_opened)
        self.filing.drawing_given.connect(self.exchange.import_path)
        self.filing.busy.connect(self.status.show_busy)
        self.shelf.guest_changed.connect(self._refresh)
        # A picture may come long after its design: what waits for one can be used from then on.
        self.shelf.changed.connect(self.hands.refresh)
        self.shelf.progress.connect(lambda name, done: self.status.show_busy(f"Opening {name}", done))
        self.shelf.failed.connect(lambda name, why: self.strip.say(why))
        self.keeper.trouble.connect(self.unsafe.show_trouble)
        self.filing.unsafe = lambda: self.keeper.unsafe
        self.status.cancelled.connect(self.filing.cancel)
        self.arm_rule.told.connect(self.status.say_instead)
        self.canvas.menu_wanted.connect(self._context_menu)
        self.canvas.outline_traced.connect(lambda _: self.tabs.setCurrentWidget(self.outlines))
        self.welcome.scan_wanted.connect(self.filing.open_scan)
        self.welcome.open_wanted.connect(self.filing.open)
        self.welcome.sample_wanted.connect(lambda path: self.filing.open_sample(Path(path)))
        self.welcome.recent_wanted.connect(lambda path: self.filing.open_path(Path(path)))
        self.welcome.blank_wanted.connect(self.begin_blank)
        self.kept.compare_button.clicked.connect(lambda: self.side.show("compare"))
        self.readings.curve_button.clicked.connect(lambda: self.side.show("slip"))
        self.readings.gust_button.clicked.connect(lambda: self.side.show("gust"))
        self.room.changed.connect(self._refresh_actions)
        self.canvas.hand_changed.connect(lambda _: self._refresh_actions())
        self.canvas.hint_changed.connect(lambda: show_undo(self.menus.actions, self.document, self.canvas))
        self._recents = Recents(self.filing, self.welcome, self.menus.recent)

    @property
    def beside(self) -> Beside:
        """What a window beside this one is made from."""
        return Beside(self.desk, self.canvas, self.theme, self, self.side.show)

    @property
    def area_band(self) -> AreaBand | None:
        """The area band, once the plot library is there."""
        return self.band_place.band

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self.room.fit(event.size())

    def showEvent(self, event: QShowEvent) -> None:  # noqa: D102
        super().showEvent(event)
        self._drops.listen()
        self.band_place.prepare()

    # What changes

    def _changed(self, change: Change) -> None:
        if change.what in ("design", "file"):
            self.shelf.sync(self.document.committed, self.document.pictures)
        if change.what == "file":
            self._begun_blank = self._begun_blank and not self.document.committed.outlines
            if change.name in ("opened", "recovered"):
                QTimer.singleShot(0, self.canvas, self.canvas.fit)
                self.canvas.setFocus()
        if change.what != "preview":
            self._refresh()
        elif not self.menus.actions["undo"].isEnabled():
            # A gesture that is the first thing done can be taken back while it lasts.
            self._refresh_actions()
        if change.what == "design":
            self.strip.say("")

    def _refresh(self) -> None:
        design = self.document.committed
        coming = self.shelf.guest is not None
        empty = not (design.outlines or design.scans or design.wings or self._begun_blank or coming)
        self.middle.setCurrentIndex(0 if empty else 1)
        trace = self.document.trace is not None
        view = " – trace not finished" if trace else ""
        view += " – proposal on view" if self.document.proposal is not None else ""
        self.setWindowTitle(f"{self.document.name}[*]{view} – Sternpost")
        self.setWindowModified(self.document.dirty or trace)
        self._refresh_actions()

    def _refresh_actions(self) -> None:
        actions, document = self.menus.actions, self.document
        show_states(actions, document, self.canvas, self.picked.now, self.room, self._dressing.choice)
        show_undo(actions, document, self.canvas)

    def paste(self) -> None:
        """Outlines, a picture, or files from the clipboard."""
        mime: QMimeData | None = QGuiApplication.clipboard().mimeData()
        # An empty clipboard may have nothing at all, not even an empty answer.
        if mime is None or (not self.edits.paste(mime) and not self.filing.take_mime(mime)):
            self.strip.say("The clipboard holds neither outlines nor a picture")

    def begin_blank(self) -> None:
        """Draw from nothing: an empty sheet, in true millimetres."""
        self._begun_blank = True
        self._refresh()
        self.canvas.take_hand("trace")
        QTimer.singleShot(0, self.canvas, self.canvas.fit)
        self.canvas.setFocus()

    def _show_kept(self) -> None:
        self.room.reveal("lists")
        self.tabs.setCurrentWidget(self.kept)

    def _tab_changed(self) -> None:
        # The weights show themselves only with their list.
        self.canvas.show_weights = self.tabs.currentWidget() is self.weights

    def _before_leaving(self) -> None:
        # What is only previewed is not the builder's yet; what is half traced is.
        self.side.close()
        self.canvas.half_drawn.keep_draft()
        self.arm_rule.settle()

    def _scan_opened(self) -> None:
        self.tabs.setCurrentWidget(self.scans)
        self.canvas.fit()
        self.photographs.scan_opened(self.document.committed.scans[-1])
        self.canvas.setFocus()

    def _context_menu(self, at: QPointF) -> None:
        menu = context_menu(self.desk, self.canvas, self.edits, self.menus.actions, at)
        menu.exec(self.canvas.mapToGlobal(at.toPoint()))
        menu.deleteLater()

    # Files in and out of the window

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: D102
        if is_ours(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: D102
        if self.filing.take_mime(event.mimeData()):
            event.acceptProposedAction()

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: D102
        if not self.filing.may_leave():
            event.ignore()
            return
        QSettings().setValue("geometry", self.saveGeometry())
        self._stop()
        self.keeper.stop()
        event.accept()

    def _stop(self) -> None:
        for part in (
            self.filing, self.band_place, self.canvas.ink, self.recounter, self.counting, self.shelf,
        ):
            part.stop()

    def keep_all(self) -> None:
        """The program is about to end unasked: the work is on the disk when this returns."""
        self.keeper.keep()
        self.keeper.let_go()
        self._stop()
        self.hide()

    def _offer_kept(self) -> None:
        if not self.keeper.offer(self.filing.may_leave) and not self.keeper.asked:
            self.strip.say("No work of another window is kept")

    # Colours

    @property
    def theme(self) -> Theme:
        """The colours that it wears."""
        return self._dressing.theme

    def set_theme(self, choice: str) -> None:
        """Take the system's light, or day or night whatever the system says."""
        self._dressing.choose(choice)
        self._retheme()

    def _retheme(self) -> None:
        if self._dressing.changed():
            for part in (
                self.canvas, self.arm_rule, self.band_place, self.strip, self.hands, self.outlines,
                self.scans, self.surfaces, self.weights, self.kept, self.answer, self.readings, self.welcome,
                self.status, self.guidance, self.unsafe, *self.folds, self.side,
            ):
                part.set_theme(self.theme)
        self._refresh_actions()

    def changeEvent(self, event: QEvent) -> None:  # noqa: D102
        if event.type() == QEvent.Type.ThemeChange and self._dressing.choice == "system":
            QTimer.singleShot(0, self, self._retheme)
        super().changeEvent(event)


def application() -> QApplication:
    """The one application object, in our style, made when first asked for."""
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        keep_pictures_apart()
        app = QApplication(sys.argv[:1])
        FieldKeys(app)
    app.setApplicationName("Sternpost")
    app.setOrganizationName("Sternpost")
    app.setStyle("Fusion")
    # The words are English, whatever the system's language: lines and figures run from left to right.
    app.setLayoutDirection(Qt.LayoutDirection.LeftToRight)
    return app
