"""A fin's height, chords and sweep, typed: of the fin that is selected, or of one that is to be made."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from app.kit.plain import Label, plain
from app.work.document import Document
from app.work.selection import Picked, Selection
from core.design import Design
from core.kinds import CARRIERS, VERTICAL_TAIL
from core.redesign.fin_sizes import MOST_SWEEP, FinSizes, fin_ids, new_fin, shape_fin, sizes_of
from core.redesign.outline_edits import EditError
from core.units import UnitError, format_length, format_number, parse_length, parse_number

_FIELDS = (
    ("height", "Height", "Height of fin and rudder, from where they leave the body to the top."),
    ("root", "Root", "Chord of fin and rudder at the root: of their straight edges, run on past a fillet."),
    ("tip", "Tip", "Chord of fin and rudder at the top: of their straight edges, run on past a rounded tip."),
    ("sweep", "Sweep °", "How far the leading edge leans aft of upright, in degrees."),
)


class FinForm(QWidget):
    """Four fields; each is one edit. The hinge's foot stays where it is, curves stay fair."""

    def __init__(self, document: Document, picked: Picked, say: Callable[[str], None]) -> None:
        super().__init__()
        self._document, self._picked, self._say = document, picked, say
        self._ids: tuple[str, ...] = ()
        self.new = False
        """Whether what is typed makes a new fin."""
        self.fields: dict[str, QLineEdit] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(5)
        for at, (key, words, tip) in enumerate(_FIELDS):
            label, field = Label(words), QLineEdit()
            label.setBuddy(field)
            field.setAccessibleName(f"Fin: {words.removesuffix(' °').lower()}")
            field.setToolTip(plain(tip))
            field.setAlignment(Qt.AlignmentFlag.AlignRight)
            field.editingFinished.connect(self._typed)
            grid.addWidget(label, at // 2, 2 * (at % 2))
            grid.addWidget(field, at // 2, 2 * (at % 2) + 1)
            self.fields[key] = field
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)

    def show_for(self, *, nodes: bool) -> bool:
        """Show the sizes of what is selected; whether there is a fin to type. ``nodes``: some are picked."""
        design = self._document.edited
        if self._document.busy and self._ids:
            # Measuring takes as long as the rest of a drag's picture: it follows when the hand lets go.
            return not self.isHidden()
        ids = self._picked.now.outlines
        self._ids = () if nodes else fin_ids(design, ids)
        was_new, self.new = self.new, not ids and _lacks_a_fin(design)
        if self.new and not was_new:
            for field in self.fields.values():
                field.clear()
        sizes = sizes_of(design, self._ids) if self._ids else None
        for key, field in self.fields.items():
            if self.new or (field.hasFocus() and field.isModified()):
                field.setPlaceholderText("new fin" if self.new else "–")
                continue
            text = ""
            if isinstance(sizes, FinSizes):
                value, units = getattr(sizes, key), design.display_units
                text = format_number(value, 1) if key == "sweep" else format_length(value, units)
            if field.text() != text:
                field.setText(text)
            field.setPlaceholderText("–")
        shown = self.new or isinstance(sizes, FinSizes)
        if self.isHidden() == shown:
            self.setVisible(shown)
        return shown

    def _typed(self) -> None:
        changed = [key for key, field in self.fields.items() if field.isModified()]
        if not changed or (self.new and not all(f.text().strip() for f in self.fields.values())):
            return
        for field in self.fields.values():
            field.setModified(False)
        design, ids = self._document.edited, self._ids
        try:
            if self.new:
                wanted = self._read(tuple(self.fields), FinSizes(0.0, 0.0, 0.0, 0.0))
                made, fin_id = new_fin(design, wanted)
                self._document.apply("new fin", lambda _: made, "fin form")
                self._picked.set(Selection((fin_id,)))
            else:
                now = sizes_of(design, ids)
                if isinstance(now, FinSizes):
                    made = shape_fin(design, ids, self._read(changed, now))
                    self._document.apply(f"fin's {' and '.join(changed)}", lambda _: made, "fin form")
        except (UnitError, EditError) as error:
            self._say(str(error))
        self.show_for(nodes=False)

    def _read(self, keys: tuple[str, ...] | list[str], base: FinSizes) -> FinSizes:
        values = {key: getattr(base, key) for key, _, _ in _FIELDS}
        for key in keys:
            text = self.fields[key].text()
            units = self._document.edited.display_units
            values[key] = _sweep(text) if key == "sweep" else parse_length(text, units)
        return FinSizes(**values)


def _sweep(text: str) -> float:
    return parse_number(text, low=-MOST_SWEEP, high=MOST_SWEEP, what="Sweep of the fin in degrees")


def _lacks_a_fin(design: Design) -> bool:
    kinds = {o.kind for o in design.outlines}
    return bool(kinds & CARRIERS) and not kinds & VERTICAL_TAIL
