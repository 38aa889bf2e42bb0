"""The window: which panel sits where, and which menu entry calls what. No logic of its own."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, get_args

from PySide6.QtCore import QEvent, QMimeData, QPointF, QSettings, QTimer
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QIcon,
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
from app.keeping.recent import note, recent
from app.kit.heap import keep_pictures_apart
from app.kit.overrides import errors_told
from app.kit.theme import DAY, NIGHT, Theme, data_folder, palette_of, style_sheet, theme_of
from app.panels.alternatives_panel import AlternativesPanel
from app.panels.answer import AnswerPanel
from app.panels.hand_strip import HandStrip
from app.panels.hands import HandsPanel
from app.panels.outlines import OutlinesPanel
from app.panels.readings import ReadingsPanel
from app.panels.scans import ScansPanel
from app.panels.status import StatusLine
from app.panels.surfaces import SurfacesPanel
from app.panels.weights import WeightsPanel
from app.panels.welcome import Welcome
from app.paper.pages import home_paper
from app.scans.shelf import Shelf
from app.side.beside import Beside
from app.window.context_menu import context_menu
from app.window.dropping import Drops, is_ours
from app.window.edit_commands import EditCommands
from app.window.exchanging import Exchanging
from app.window.filing import Filing
from app.window.layout import column, left_column, right_column, side_by_side
from app.window.menu_entries import (
    edit_menu,
    file_menu,
    help_menu,
    paper_menu,
    redesign_menu,
    view_menu,
)
from app.window.menus import Menus
from app.window.photographs import Photographs
from app.window.recounting import Recounter
from app.window.side_windows import SideWindows
from app.work.desk import Desk
from app.work.document import Change, Document
from app.work.readout import Readout
from app.work.selection import Picked
from core.design import LeftOut

if TYPE_CHECKING:
    from app.canvas.area_band import AreaBand


@errors_told
class Window(QMainWindow):
    """One design in one window."""

    def __init__(self, document: Document | None = None) -> None:
        super().__init__()
        self._app = application()
        self.document = document or Document()
        # Before all that computes and shows: the work is kept even where one of those fails.
        self.keeper = Keeper(self, self.document)
        self.readout = Readout(self.document)
        self.picked = Picked()
        self.shelf = Shelf(self)
        self._choice = str(QSettings().value("theme", "system"))
        self.theme = self._chosen_theme()
        self._begun_blank = False
        self.setWindowIcon(QIcon(str(data_folder("icons") / "sternpost.png")))
        self.setAcceptDrops(True)
        self._drops = Drops(self)
        self.resize(1360, 820)
        self._dress()

        self.tabs, self.middle = QTabWidget(), QStackedWidget()
        self.recounter = Recounter(self.document, self.readout, self)
        self.canvas = Canvas(self.document, self.readout, self.picked, self.shelf, self.theme)
        self.arm_rule = ArmRule(self.document, self.readout, self.canvas, self.theme)
        self.band_place = BandPlace(self.readout, self.canvas, self.theme)
        self.strip = HandStrip(self.document, self.readout, self.canvas, self.theme)
        self.desk = Desk(
            self.document, self.readout, self.picked, self.shelf, self.strip.say, self.undo, self.redo
        )
        self.filing = Filing(self, self.document, self.readout, self.shelf, self.strip.say)
        self.exchange = Exchanging(self, self.document, self.picked, self.strip.say)
        self.edits = EditCommands(self.document, self.picked, self.strip.say)
        self.hands = HandsPanel(
            self.canvas, self.readout, self.theme, self.filing.open_scan,
            partial(self.filing.export_sheet, home_paper()),
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
        self.status = StatusLine(self.document, self.readout, self.canvas, self.theme)
        self._lay_out()
        self.side = SideWindows(lambda: self.beside)
        self.menus = self._menus()
        self._connect()
        self._refresh()
        # Once, so that no page of the strip makes the window grow: all of them fit into this.
        self.setMinimumSize(self.minimumSizeHint())

    def _lay_out(self) -> None:
        for panel, name in (
            (self.outlines, "Outlines"), (self.scans, "Scans"), (self.surfaces, "Wings"),
            (self.weights, "Weights"), (self.kept, "Kept"),
        ):
            self.tabs.addTab(panel, name)
        self.tabs.currentChanged.connect(self._tab_changed)
        self.middle.addWidget(self.welcome)
        self.middle.addWidget(column(self.strip, self.canvas, self.arm_rule, self.band_place, grows=1))
        left, right = left_column(self.hands, self.tabs), right_column(self.answer, self.readings)
        self.setCentralWidget(side_by_side(left, self.middle, right))
        self.setStatusBar(self.status)

    def _menus(self) -> Menus:
        menus = Menus(self)
        file_menu(menus, self.filing, self.exchange)
        edit_menu(menus, self.desk, self.edits, self.canvas, self.outlines, self.paste, self.side)
        redesign_menu(menus, self.side, self.edits, partial(self.tabs.setCurrentWidget, self.kept))
        paper_menu(menus, self.filing, self.side)
        view_menu(menus, self.canvas, self.edits, self.set_theme)
        help_menu(menus)
        return menus

    def _connect(self) -> None:
        self.readout.listen(self._changed)
        self.picked.listen(lambda _: self._refresh_actions())
        self.scans.open_button.clicked.connect(self.filing.open_scan)
        self.filing.leaving.connect(self._before_leaving)
        self.filing.scan_opened.connect(self._scan_opened)
        self.filing.drawing_given.connect(self.exchange.import_path)
        for told in (self.filing.opened, self.filing.saved):
            told.connect(self._file_used)
        self.filing.busy.connect(self.status.show_busy)
        self.shelf.guest_changed.connect(self._refresh)
        # A picture may come long after its design: what waits for one can be used from then on.
        self.shelf.changed.connect(self.hands.refresh)
        self.shelf.progress.connect(lambda name, done: self.status.show_busy(f"Opening {name}", done))
        self.shelf.failed.connect(lambda name, why: self.strip.say(why))
        self.keeper.trouble.connect(self.strip.say)
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
        self._fill_recent()

    @property
    def beside(self) -> Beside:
        """What a window beside this one is made from."""
        return Beside(self.desk, self.canvas, self.theme, self)

    @property
    def area_band(self) -> AreaBand | None:
        """The area band, once the plot library is there."""
        return self.band_place.band

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
        if change.what == "design":
            self.strip.say("")

    def _refresh(self) -> None:
        design = self.document.committed
        coming = self.shelf.guest is not None
        empty = not (design.outlines or design.scans or design.wings or self._begun_blank or coming)
        self.middle.setCurrentIndex(0 if empty else 1)
        view = " – proposal on view" if self.document.proposal is not None else ""
        self.setWindowTitle(f"{self.document.name}[*]{view} – Sternpost")
        self.setWindowModified(self.document.dirty)
        self._refresh_actions()

    def _refresh_actions(self) -> None:
        actions, document = self.menus.actions, self.document
        for name, what in (("undo", document.undo_name), ("redo", document.redo_name)):
            actions[name].setText(f"&{name.capitalize()} {what}" if what else f"&{name.capitalize()}")
        actions["revert"].setEnabled(document.path is not None and document.dirty)
        picked = self.picked.now
        for name in ("cut", "copy", "duplicate", "delete", "scale-root", "mirror", "lock", "hide"):
            actions[name].setEnabled(bool(picked.outlines))
        for name in ("corner", "smooth"):
            actions[name].setEnabled(bool(picked.nodes))
        for what in get_args(LeftOut):
            actions[f"no-{what}"].setChecked(what in document.committed.left_out)
        actions["confirm"].setEnabled(bool(document.committed.guessed))
        actions[document.committed.display_units].setChecked(True)
        actions[f"theme-{self._choice}"].setChecked(True)
        quarter = document.committed.aim.fin_centre == "quarter_chord"
        actions["arm-quarter" if quarter else "arm-centroid"].setChecked(True)

    def undo(self) -> None:
        """Take back the last node of a trace, or else the last edit."""
        if not self.canvas.hand.undo():
            self.canvas.hand.leave()
            self.document.undo("window")
        self.canvas.update()

    def redo(self) -> None:
        """Do it again."""
        if not self.canvas.hand.redo():
            self.document.redo("window")
        self.canvas.update()

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

    def _tab_changed(self) -> None:
        # The weights show themselves only with their list.
        self.canvas.show_weights = self.tabs.currentWidget() is self.weights

    def _before_leaving(self) -> None:
        # What is only previewed is not the builder's yet; what is half traced is.
        self.side.close()
        self.canvas.hand.keep_draft()
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

    def _file_used(self, path: str) -> None:
        note(QSettings(), Path(path))
        self._fill_recent()

    def _fill_recent(self) -> None:
        paths = recent(QSettings())
        self.welcome.set_recent(paths)
        menu = self.menus.recent
        menu.clear()
        for path in paths:
            menu.addAction(path.name, partial(self.filing.open_path, path)).setToolTip(str(path))
        menu.setEnabled(bool(paths))

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
        self.filing.stop()
        self.band_place.stop()
        self.canvas.ink.stop()
        self.recounter.stop()
        self.shelf.stop()
        self.keeper.stop()
        event.accept()

    # Colours

    def _chosen_theme(self) -> Theme:
        if self._choice not in ("day", "night"):
            self._choice = "system"
            return theme_of(self._app)
        return DAY if self._choice == "day" else NIGHT

    def set_theme(self, choice: str) -> None:
        """Take the system's light, or day or night whatever the system says."""
        self._choice = choice
        QSettings().setValue("theme", choice)
        self._retheme()

    def _retheme(self) -> None:
        theme = self._chosen_theme()
        if theme is not self.theme:
            self.theme = theme
            self._dress()
            for part in (
                self.canvas, self.arm_rule, self.band_place, self.strip, self.hands, self.outlines,
                self.scans, self.surfaces, self.weights, self.kept, self.answer, self.readings, self.welcome,
                self.status,
            ):
                part.set_theme(theme)
            self.side.set_theme(theme)
        self._refresh_actions()

    def _dress(self) -> None:
        self._app.setPalette(palette_of(self.theme))
        self.setStyleSheet(style_sheet(self.theme))

    def changeEvent(self, event: QEvent) -> None:  # noqa: D102
        if event.type() == QEvent.Type.ThemeChange and self._choice == "system":
            QTimer.singleShot(0, self, self._retheme)
        super().changeEvent(event)


def application() -> QApplication:
    """The one application object, in our style, made when first asked for."""
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        keep_pictures_apart()
        app = QApplication(sys.argv[:1])
    app.setApplicationName("Sternpost")
    app.setOrganizationName("Sternpost")
    app.setStyle("Fusion")
    return app
