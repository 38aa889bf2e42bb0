"""The few dialogues: title and notes, scale from the root, keys, trust, about."""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QInputDialog,
    QLabel,
    QLineEdit,
    QMessageBox,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from app.kit.cautions import CAUTIONS
from app.work.document import Document
from core.redesign.outline_edits import EditError
from core.units import UnitError, parse_number

KEYS: tuple[tuple[str, str], ...] = (
    ("E  T  R  S  L  D  G  P  J",
     "the hands: edit, trace, region, scale, level, datum, mark CG, straighten a photograph, join sheets"),
    ("Wheel, pinch", "zoom at the cursor; two fingers or Shift and wheel: pan"),
    ("Middle button, Space and drag", "pan, in the middle of a trace too"),
    ("Ctrl+0, Ctrl+1", "fit everything; 1:1 with the paper"),
    ("Tracing", "draw once round a shape with the button down: the line is pulled on to the ink"),
    ("", "two lines side by side: a click or Tab takes the other; Left, Right: the next; Return: done"),
    ("", "click: corner; press and drag: curve; first node or Return: close"),
    ("", "Backspace: last node back; Escape: abandon; Shift: level, upright, 45°; Ctrl: no snap"),
    ("", "F held, or “Follow ink” in the strip: the trace follows the drawn line; undo takes back the run"),
    ("Region", "click inside a closed drawn shape, or on a filled one: its outline; Escape: stop looking"),
    ("", "press and draw loosely round a whole side view: its outer outline; across a fin: without it"),
    ("Straightening", "click four corners, type two lengths; drag or nudge points; Return: done"),
    ("Joining", "a point on the sheet that moves, then on the other, twice; arrow keys: 0.1 mm, Shift 1 mm"),
    ("Editing", "drag an edge along its normal, with Alt bend it; drag nodes, handles, the selected outline"),
    ("", "double click an edge: new node; double click a node: corner or curve"),
    ("", "the round grip: scale from the root edge, with Shift the height alone"),
    ("Ctrl+I", "settle the selected outline on the ink that runs along it"),
    ("Arrow keys", "nudge by 1 mm or 1/16 in, with Shift ten times as far"),
    ("U", "millimetres, decimal inches, fractions of an inch"),
)


def show_keys(parent: QWidget) -> None:
    """What keys and mouse do."""
    rows = "".join(
        f"<tr><td style='padding:2px 18px 2px 0'><b>{keys}</b></td>"
        f"<td style='padding:2px 0'>{does}</td></tr>"
        for keys, does in KEYS
    )
    _show(parent, "Keys and gestures", f"<table>{rows}</table>")


def show_trust(parent: QWidget) -> None:
    """What stands behind the figures, and the cautions."""
    cautions = "".join(f"<li>{caution}</li>" for caution in CAUTIONS)
    _show(
        parent, "How far to trust the figures",
        "<p>Areas and centroids are exact geometry of what was traced: they are as good as the tracing and "
        "the scan's scale. The CLA fraction does not depend on the scale at all.</p>"
        "<p>The answer has two witnesses: the rule, and the handbook (firmness in yaw, static margin). "
        "Only where both are content does it say that nothing needs to be done; where they pull apart, "
        "firmness comes first. The ± is one standard deviation of CG, tracing and typed surfaces: how well "
        "the figure is known, not how well it suits the aeroplane.</p>"
        "<p>What the fin gives in yaw is told by two witnesses: the handbook's charts, with the fin run down "
        "to the body's centre line, and a lattice of vortices, with the body's images and the tailplane as "
        "an end plate. The band about Cnβ is the distance between methods, not a promise.</p>"
        "<p>That about 25 % of the tail arm suits most aeroplanes is common practice, with no source. "
        "The CLA is a centroid, not the aerodynamic centre in yaw: it places the fin and proves nothing.</p>"
        f"<p>Before you fly:</p><ul>{cautions}</ul>",
    )


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
    label = QLabel(html)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.RichText)
    label.setMinimumWidth(560)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
    buttons.rejected.connect(dialog.close)
    layout = QVBoxLayout(dialog)
    layout.setContentsMargins(20, 16, 20, 16)
    layout.addWidget(label)
    layout.addWidget(buttons)
    dialog.show()


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
    if dialog.exec():
        words, text = title.text().strip() or document.committed.title, notes.toPlainText()
        document.apply("change title and notes", lambda d: replace(d, title=words, notes=text), "dialogue")
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
        QMessageBox.warning(parent, "Scale from the root", str(error))
