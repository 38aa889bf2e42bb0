"""The few dialogues: title and notes, scale from the root, about."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QInputDialog,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from app.kit.cautions import CAUTIONS
from app.kit.plain import OwnHtml, warn
from app.work.document import Document
from core.design import Design
from core.design_check import broken_by
from core.redesign.outline_edits import EditError
from core.units import UnitError, parse_number


def show_about(parent: QWidget) -> None:
    """Name and version."""
    # Slow to import, and only asked for here.
    from importlib.metadata import PackageNotFoundError, version

    try:
        number = version("sternpost")
    except PackageNotFoundError:
        number = "from its sources"
    _show(
        parent, "About Sternpost",
        f"<p><b>Sternpost</b> {number}</p><p>Traces the side of a model aeroplane's plan and shows where its "
        "side area lies behind the CG.</p>" f"<p>{CAUTIONS[0]}</p>",
    )


def _show(parent: QWidget, title: str, html: str) -> None:
    dialog = QDialog(parent)
    dialog.setWindowTitle(title)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    label = OwnHtml(html)
    label.setWordWrap(True)
    label.setMinimumWidth(560)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
    buttons.rejected.connect(dialog.close)
    layout = QVBoxLayout(dialog)
    layout.setContentsMargins(20, 16, 20, 16)
    layout.addWidget(label)
    layout.addWidget(buttons)
    dialog.show()


def _instead(edited: Design, _: Design) -> Design:
    return edited


def edit_notes(parent: QWidget, document: Document) -> None:
    """Change the design's title and notes, in one edit."""
    dialog = QDialog(parent)
    dialog.setWindowTitle("Title and notes")
    title, notes = QLineEdit(document.committed.title), QPlainTextEdit(document.committed.notes)
    title.setMinimumWidth(380)
    form = QFormLayout(dialog)
    form.setContentsMargins(20, 16, 20, 16)
    form.addRow("&Title", title)
    form.addRow("&Notes", notes)
    buttons = QDialogButtonBox(
        QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
    )
    buttons.accepted.connect(dialog.accept)
    buttons.rejected.connect(dialog.reject)
    form.addRow(buttons)
    while dialog.exec():
        words, text = title.text().strip() or document.committed.title, notes.toPlainText()
        edited = replace(document.committed, title=words, notes=text)
        why = broken_by(document.committed, edited)
        if why is None:
            document.apply("change title and notes", partial(_instead, edited), "dialogue")
            break
        # What was typed stays in the fields.
        warn(dialog, "Sternpost", f"{why[:1].upper()}{why[1:]}.")
    dialog.deleteLater()


def ask_scale(parent: QWidget, scale: Callable[[float, float], None]) -> None:
    """Ask by how much to scale from the root: one per cent, or across and up apart ("100 x 120")."""
    text, given = QInputDialog.getText(
        parent, "Scale from the root", "Per cent, or across × up (“110”, “100 × 120”):", text="110"
    )
    if not given:
        return
    try:
        parts = [p.strip().removesuffix("%").strip() for p in text.replace("×", "x").lower().split("x")]
        if len(parts) not in (1, 2):
            raise UnitError("give one per cent, or two with × between them")
        across, up = (parse_number(p, low=1, high=10_000, what="scale") / 100 for p in (parts[0], parts[-1]))
        scale(across, up)
    except (UnitError, EditError) as error:
        warn(parent, "Scale from the root", str(error))
