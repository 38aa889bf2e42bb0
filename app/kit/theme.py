"""Paper and ink: the colours of the window, by day and by night."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPalette, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QApplication

from app.kit.inks import Inks
from core.kinds import TABLE, Kind
from core.stability.answer import AnswerState
from core.stability.readings import Verdict

ICON_INK = "#2b2a27"


@dataclass(frozen=True)
class Theme(Inks):
    """Colours as #rrggbb. Meaning never rests on them alone: shapes, hatches and words go with them.

    Red is the CLA's. ``fault`` is for what could not be done, ``change`` for what a gesture moved,
    ``edge`` for the border of fields. Text reaches 4.5 to 1 on paper, panel and desk, marks 3 to 1.
    """

    dark: bool
    desk: str
    panel: str
    line: str
    body: str
    tail: str
    stand: str
    other: str
    pick: str
    draft: str
    within: str
    below: str
    above: str
    edge: str
    fault: str
    change: str

    def wash(self, kind: Kind) -> QColor:
        """The light wash of an outline of that kind."""
        return QColor({
            "body": self.body, "tail": self.tail, "stand": self.stand, "other": self.other,
        }[TABLE[kind].wash])

    def verdict(self, verdict: Verdict | None) -> QColor:
        """The colour that goes with a verdict's word and shape."""
        if verdict is None:
            return QColor(self.ink)
        return QColor({"below": self.below, "within": self.within, "above": self.above}[verdict])

    def state(self, state: AnswerState) -> QColor:
        """The colour that goes with the state of the answer. Red stays the CLA's."""
        if state in ("below", "within", "above"):
            return self.verdict(state)
        return QColor({"stop": self.ink, "doubt": self.below}.get(state, self.ink_soft))


DAY = Theme(
    dark=False, paper="#f6f1e6", desk="#e7dfd0", panel="#fbf8f1", line="#cfc5b2", ink="#2b2a27",
    ink_soft="#5f5a51", body="#c9b48c", tail="#8fa9b8", stand="#b7a59b", other="#b9b9a4",
    pick="#1b6580", draft="#6d3fa0", cla="#a8391f", fin="#2b675c", aim="#76864a",
    within="#3f6b35", below="#7a4f00", above="#54489a", edge="#8f8672",
    fault="#7d3c6e", change="#2b5c8f",
)
NIGHT = Theme(
    dark=True, paper="#23221f", desk="#1a1917", panel="#2b2a27", line="#4b4840", ink="#ece5d6",
    ink_soft="#a8a090", body="#7d6c4a", tail="#5b7f94", stand="#7b6b64", other="#6d6d5c",
    pick="#6fc3df", draft="#c79bf0", cla="#f08a6a", fin="#7cc7b6", aim="#8f9f63",
    within="#9ccf8e", below="#e7b860", above="#b9aef0", edge="#857f72",
    fault="#e0a3d0", change="#9cc0ea",
)


def theme_of(app: QApplication) -> Theme:
    """The theme that goes with the system's colours."""
    scheme = app.styleHints().colorScheme()
    if scheme == Qt.ColorScheme.Unknown:
        # The application's palette is our own by now: the system's shows when ours is taken off.
        ours = app.palette()
        app.setPalette(QPalette())
        dark = app.palette().window().color().lightness() < 110
        app.setPalette(ours)
        return NIGHT if dark else DAY
    return NIGHT if scheme == Qt.ColorScheme.Dark else DAY


def palette_of(theme: Theme) -> QPalette:
    """Qt's palette in our colours."""
    palette = QPalette()
    role = QPalette.ColorRole
    for what, colour in (
        (role.Window, theme.panel), (role.Base, theme.paper), (role.AlternateBase, theme.desk),
        (role.Text, theme.ink), (role.WindowText, theme.ink), (role.ButtonText, theme.ink),
        (role.Button, theme.panel), (role.Highlight, theme.pick), (role.HighlightedText, theme.paper),
        (role.ToolTipBase, theme.paper), (role.ToolTipText, theme.ink), (role.Link, theme.pick),
        (role.PlaceholderText, theme.ink_soft), (role.Mid, theme.line), (role.Dark, theme.ink_soft),
        (role.Light, theme.paper), (role.Midlight, theme.line), (role.Shadow, theme.ink_soft),
    ):
        palette.setColor(what, QColor(colour))
    for what in (role.Text, role.WindowText, role.ButtonText):
        faint = QColor(theme.ink_soft)
        faint.setAlpha(150)
        palette.setColor(QPalette.ColorGroup.Disabled, what, faint)
    return palette


def style_sheet(theme: Theme) -> str:
    """The few things that a palette cannot say."""
    return f"""
    QMainWindow, QDialog {{ background: {theme.panel}; }}
    QToolTip {{ background: {theme.paper}; color: {theme.ink}; border: 1px solid {theme.edge};
                padding: 4px; }}
    QMainWindow::separator {{ background: {theme.line}; width: 1px; height: 1px; }}
    QToolButton {{ border: 1px solid transparent; border-radius: 4px; padding: 3px 6px; }}
    QToolButton:hover {{ background: {theme.desk}; }}
    QToolButton:focus {{ border-color: {theme.pick}; }}
    QToolButton:checked {{ background: {theme.desk}; border-color: {theme.ink_soft}; }}
    QPushButton {{ border: 1px solid {theme.ink_soft}; border-radius: 4px; padding: 4px 12px;
                   background: {theme.paper}; }}
    QPushButton:hover, QPushButton:focus {{ border-color: {theme.pick}; }}
    QPushButton:pressed {{ background: {theme.desk}; }}
    QPushButton:disabled {{ color: {theme.ink_soft}; border-color: {theme.line}; }}
    QLineEdit, QPlainTextEdit, QComboBox, QSpinBox, QDoubleSpinBox {{ background: {theme.paper};
        color: {theme.ink}; border: 1px solid {theme.edge}; border-radius: 3px; padding: 2px 4px;
        min-height: 1.3em; }}
    QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus, QSpinBox:focus, QDoubleSpinBox:focus {{
        border-color: {theme.pick}; }}
    QLineEdit:disabled, QPlainTextEdit:disabled, QComboBox:disabled, QSpinBox:disabled,
    QDoubleSpinBox:disabled {{ color: {theme.ink_soft}; border-color: {theme.line}; }}
    QComboBox {{ padding-right: 0; }}
    QComboBox::drop-down {{ border: none; width: 13px; }}
    QComboBox::down-arrow {{ image: {_drawn("arrow-down", theme)}; width: 9px; height: 9px; }}
    QComboBox QAbstractItemView {{ background: {theme.paper}; border: 1px solid {theme.edge};
        outline: none; selection-background-color: {theme.desk}; selection-color: {theme.ink}; }}
    QSpinBox::up-button, QSpinBox::down-button, QDoubleSpinBox::up-button, QDoubleSpinBox::down-button {{
        border: none; width: 16px; background: transparent; }}
    QSpinBox::up-arrow, QDoubleSpinBox::up-arrow {{ image: {_drawn("arrow-up", theme)};
        width: 10px; height: 10px; }}
    QSpinBox::down-arrow, QDoubleSpinBox::down-arrow {{ image: {_drawn("arrow-down", theme)};
        width: 10px; height: 10px; }}
    QCheckBox::indicator, QListView::indicator, QTableView::indicator {{ width: 13px; height: 13px;
        border: 1px solid {theme.ink_soft}; border-radius: 3px; background: {theme.paper}; }}
    QCheckBox::indicator:disabled {{ border-color: {theme.line}; }}
    QCheckBox::indicator:focus {{ border-color: {theme.pick}; }}
    QCheckBox::indicator:checked, QListView::indicator:checked, QTableView::indicator:checked {{
        background: {theme.pick}; border-color: {theme.pick}; image: {_drawn("tick", theme)}; }}
    QMessageBox {{ messagebox-question-icon: {_drawn("box-ask", theme)};
        messagebox-warning-icon: {_drawn("box-mind", theme)};
        messagebox-critical-icon: {_drawn("box-mind", theme)};
        messagebox-information-icon: {_drawn("box-mind", theme)}; }}
    QDialogButtonBox {{ dialogbuttonbox-buttons-have-icons: 0; }}
    QStatusBar {{ background: {theme.panel}; border-top: 1px solid {theme.line}; }}
    QStatusBar::item {{ border: none; }}
    QMenuBar {{ background: {theme.panel}; }}
    QMenuBar::item:selected, QMenu::item:selected {{ background: {theme.desk}; color: {theme.ink}; }}
    QMenu {{ background: {theme.paper}; border: 1px solid {theme.edge}; }}
    QMenu::item:disabled {{ color: {theme.ink_soft}; }}
    QListView {{ background: {theme.panel}; border: none; outline: none; }}
    QTabBar::tab {{ padding: 5px 7px; border: none; border-bottom: 2px solid transparent;
                    color: {theme.ink_soft}; background: transparent; }}
    QTabBar::tab:selected {{ color: {theme.ink}; border-bottom-color: {theme.ink}; }}
    QTabWidget::pane {{ border: none; }}
    QScrollArea {{ border: none; background: transparent; }}
    """


def _drawn(name: str, theme: Theme) -> str:
    """A drawing of ours as a style sheet asks for it, in the colours of ``theme``."""
    path = data_folder("icons") / f"{name}-{'night' if theme.dark else 'day'}.svg"
    return f'url("{path.as_posix()}")'


def data_folder(name: str) -> Path:
    """The folder ``icons`` or ``sample_designs``, beside the packages or inside an installed one."""
    here = Path(__file__).resolve().parents[1]
    installed = here / "_data" / name
    return installed if installed.is_dir() else here.parent / name


@lru_cache(maxsize=256)
def icon(name: str, ink: str) -> QIcon:
    """The drawn icon of that name in the ink given, sharp at every scale."""
    svg = (data_folder("icons") / f"{name}.svg").read_text("utf-8").replace(ICON_INK, ink)
    renderer = QSvgRenderer(QByteArray(svg.encode()))
    made = QIcon()
    for size in (16, 24, 32, 48, 64):
        pixmap = QPixmap(size, size)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        renderer.render(painter, QRectF(0, 0, size, size))
        painter.end()
        made.addPixmap(pixmap)
    return made
