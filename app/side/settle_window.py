"""Selected outlines, or one edge, settled on the ink: seen on the canvas and told before it is done."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QDialogButtonBox, QHBoxLayout, QVBoxLayout

from app.canvas.ink_settle import Settling, settle_all
from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.side_window import SideWindow
from app.side.stage import Stage
from app.side.told_box import ToldBox
from app.work.document import Change
from core.design import Design, Outline

NAME = "settle on the ink"
_SELECT = "Select an outline first: what runs along a drawn line within some millimetres is settled on it."
_STAYS = "What has no ink along it stays where it is."


class SettleWindow(SideWindow):
    """What would move and how far; the canvas shows it meanwhile."""

    shows_on_canvas = True

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Settle on the ink")
        self._canvas, self._picked = beside.canvas, beside.desk.picked
        self.stage = Stage(beside, self, self.refresh, self.close, self.close)
        self._asked: tuple[Design, tuple[str, ...], int | None] | None = None
        self._found: Settling | None = None
        self._at_fault = False
        self.words, self.note = Label(), Label()
        for label in (self.words, self.note):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.words.setAccessibleName("What would move")
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.ok.setText("Settle it")
        self.ok.setDefault(True)
        self.buttons.accepted.connect(self.do_it)
        self.buttons.rejected.connect(self.reject)
        self._lay_out()
        self._settler = self._worker("settle", self._settled, self._failed)
        self._listen(self._document, self._heard)
        self._deaf.append(self._picked.listen(lambda _: self.refresh()))
        self.set_theme(beside.theme)

    def _lay_out(self) -> None:
        self._box = ToldBox(self.words, self.note, lines=7)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.buttons)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 16, 20, 16)
        layout.setSpacing(12)
        layout.addStrut(self._across(46))
        layout.addWidget(self._box, 1)
        layout.addLayout(row)
        self.resize(440, 220)

    def _shows(self, outline: Outline) -> bool:
        return outline.id in self._picked.now.outlines

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self._box.set_theme(theme)
        self.note.setStyleSheet(f"color: {theme.ink_soft};")
        self._colour()
        self.refresh()

    def _colour(self) -> None:
        self.words.setStyleSheet(f"color: {self._theme.fault if self._at_fault else self._theme.ink};")

    def refresh(self) -> None:
        """Have what is selected settled, unless that is known or under way."""
        picked, design = self._picked.now, self.stage.base
        ids = tuple(o.id for o in design.outlines if o.id in picked.outlines)
        edge = picked.edge[1] if picked.edge is not None and ids == (picked.edge[0],) else None
        asked = (design, ids, edge)
        if self._asked is not None and self._asked[0] is design and self._asked[1:] == asked[1:]:
            return
        self._asked, self._found = asked, None
        self.stage.clear()
        self.ok.setEnabled(False)
        if not ids:
            self._settler.cancel()
            self._say(_SELECT, at_fault=False)
            return
        self._say("Looking along the ink…", at_fault=False)
        ground = self._canvas.ink.ground()
        self._settler.start(partial(settle_all, ground, design, ids, edge))

    def _settled(self, found: Settling) -> None:
        self._found = found
        still = all(one.still for one in found.each)
        units = self._document.committed.display_units
        part = "" if self._asked is None or self._asked[2] is None else ", one edge"
        told = "\n".join(
            f"{one.outline.name}{part}: {'lies on the ink already' if one.still else one.words(units)}."
            for one in found.each
        )
        self._say(told, at_fault=False)
        self.note.setText("" if still else f"{_STAYS} Edges shared with a neighbour keep its nodes.")
        self.ok.setEnabled(not still)
        if not still:
            self.stage.show(NAME, found.design)

    def _failed(self, sentence: str) -> None:
        self._say(as_sentence(sentence), at_fault=True)

    def _say(self, words: str, *, at_fault: bool) -> None:
        self._at_fault = at_fault
        self._colour()
        self.words.setText(words)
        self.note.setText("")

    def _heard(self, change: Change) -> None:
        if self.stage.is_open and change.what == "file" and change.name in ("opened", "recovered"):
            # Another aeroplane: what was settled was not of it.
            QTimer.singleShot(0, self, self.close)

    def do_it(self) -> None:
        """One entry of undo, and the window closes."""
        if self.ok.isEnabled() and self._found is not None and self.stage.commit():
            self.accept()

    def _leaving(self) -> None:
        self.stage.close()
