"""Files for a laser cutter or a knife: the kerf, the kind of file, and what to mind."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.writing import write_file
from app.side.outgoing import ask_path, out_while_waiting
from app.side.parts_words import CAUTIONS
from app.side.placing import tall_enough
from app.work.desk import Desk
from core.design import Design
from core.parts.built import built
from core.redesign.build_edits import name_of
from core.units import UnitError, parse_length

if TYPE_CHECKING:
    from app.kit.worker import Job
    from core.parts.part import Built

_KINDS = "SVG, cut and engraved in layers (*.svg);;DXF, cut and engraved in layers (*.dxf)"
_MOST_KERF = 5.0
_WHAT = (
    "Every part that is cut from sheet lies apart from the others, drawn once and closed; what is cut and "
    "what is engraved stand in layers of their own. Sticks are in the cutting list of the parts sheet."
)


class CuttingFiles(QDialog):
    """Asks for the kerf, then for the file."""

    def __init__(
        self, window: QWidget, desk: Desk, theme: Theme, design: Design, build_id: str | None,
        say: Callable[[str], None],
    ) -> None:
        """``build_id``: the build that is chosen to begin with."""
        super().__init__(window)
        self._window, self._desk, self._design, self._say = window, desk, design, say
        self.setWindowTitle("Cutting files")
        self.which = QComboBox()
        self.which.setAccessibleName("Surface")
        if len(design.builds) > 1:
            self.which.addItem("all with parts", None)
        for build in design.builds:
            self.which.addItem(name_of(design, build), build.id)
        if build_id is not None:
            self.which.setCurrentIndex(self.which.findData(build_id))
        self.kerf, self.said = QLineEdit("0"), Label()
        self.kerf.setAccessibleName("Kerf")
        self.kerf.setToolTip("How wide the cut is, in any unit. 0: the line runs along the part’s true edge.")
        form = QFormLayout()
        form.addRow("&Surface", self.which)
        form.addRow("&Kerf, the width of the cut", self.kerf)
        hint = Label("Measure it on scrap of the same wood. 0 for a knife.")
        what, care = Label(_WHAT), Label(" ".join(CAUTIONS))
        for label in (what, care, self.said):
            label.setWordWrap(True)
        for label in (care, hint):
            label.setStyleSheet(f"color: {theme.ink_soft};")
        self.said.setStyleSheet(f"color: {theme.fault};")
        self.said.setAccessibleName("What went wrong")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.write_button = buttons.addButton("&Write…", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.write)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(10)
        layout.addWidget(what)
        layout.addLayout(form)
        layout.addWidget(hint)
        layout.addWidget(self.said)
        layout.addWidget(care)
        layout.addStretch(1)
        layout.addWidget(buttons)
        self.resize(460, 350)
        tall_enough(self)
        self.finished.connect(self.deleteLater)

    def write(self) -> None:
        """Ask where to, write it, and say so; the dialog stays where the kerf cannot be read."""
        design = self._design
        try:
            kerf = parse_length(self.kerf.text(), design.display_units) if self.kerf.text().strip() else 0.0
        except UnitError as error:
            self._fault(str(error))
            return
        if not 0.0 <= kerf <= _MOST_KERF:
            self._fault(f"a cut lies between 0 and {_MOST_KERF:g} mm: type what you measured")
            return
        builts = tuple(built(design, build) for build in design.builds
                       if self.which.currentData() in (None, build.id))
        if not any(one.parts for one in builts):
            self._fault("there is no part to cut yet: what is missing stands over the list of parts")
            return
        path = ask_path(self, self._desk.document, "Write the cutting file", " parts.svg", _KINDS)
        if path is None:
            return
        self.accept()
        out_while_waiting(
            self._window, self._told, f"{path.name} was not written", f"Writing {path.name}…",
            lambda job: self._out(path, builts, kerf, job),
        )

    def _fault(self, words: str) -> None:
        self.said.setText(as_sentence(words))
        self.kerf.selectAll()
        self.kerf.setFocus()

    def _told(self, words: str) -> None:
        self._say(words)
        self._desk.say(as_sentence(words))

    def _out(self, path: Path, builts: Sequence[Built], kerf: float, job: Job) -> str:
        from core.exchange.parts_out import parts_dxf, parts_svg

        make = parts_dxf if path.suffix.lower() == ".dxf" else parts_svg
        write_file(path, lambda: make(self._design, builts, kerf=kerf), job)
        return f"The parts are in {path.name}"
