"""The form of what is selected: label, kind, count, stance, how far a pair stands apart, its weight by area,
and exact coordinates of a node.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QFrame, QGridLayout, QLineEdit, QSpinBox

from app.kit.count_box import CountBox
from app.kit.help_places import FIELDS, set_help
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.panels.count_question import CountQuestion
from app.panels.fin_form import FinForm
from app.work.document import Document
from app.work.selection import Picked
from core.design import MOST_COUNT, Design, DisplayUnits, Outline, Stance, default_stance
from core.kinds import KINDS, OTHER
from core.loading import format_loading, parse_loading, unit_of_loading
from core.redesign.belonging import with_partners
from core.redesign.design_edits import change_kinds, change_outlines, set_apart, set_count, with_outlines
from core.redesign.outline_edits import EditError, place_node
from core.redesign.weight_edits import called, set_area_weight
from core.stability.counts import unlooked
from core.stability.touching import has_apart
from core.units import UnitError, format_typed, parse_length

DIFFERS = "several"
"""Stands in a field where what is selected differs."""
_STANCES: tuple[Stance, ...] = ("joined", "clear")
_STANCE_TIP = (
    "joined: grows out of the centreline silhouette, so what lies behind it is not seen.\n"
    "clear: stands away from it and is counted whole."
)

_WEIGHS_TIP = (
    "What a square decimetre of it weighs (or a square foot, in ounces), with all that is in it.\n"
    "Its area times this, times its count, is a weight at its centroid. Empty: it weighs nothing here."
)
_APART_TIP = (
    "How far the two of the pair stand from each other, across the aeroplane, from middle to middle.\n"
    "A fin and its rudder that touch take the same. Empty: not known; the handbook then takes a pair of\n"
    "fins at the tips of the tailplane."
)


class OutlineForm(QFrame):
    """Follows the selection; every field is one edit, and a field in use is not overwritten."""

    def __init__(self, document: Document, picked: Picked, theme: Theme, say: Callable[[str], None]) -> None:
        super().__init__()
        self._document, self._picked, self._say = document, picked, say
        self._label = QLineEdit()
        self._kind, self._stance, self._count = QComboBox(), QComboBox(), CountBox()
        self._x, self._z, self._weighs, self._apart = QLineEdit(), QLineEdit(), QLineEdit(), QLineEdit()
        self._kind.addItems(list(KINDS))
        self._stance.addItems(list(_STANCES))
        self._stance.setToolTip(plain(_STANCE_TIP))
        for choice in (self._kind, self._stance):
            choice.setPlaceholderText(DIFFERS)
        self._count.setMaximum(MOST_COUNT)
        self._count.setPrefix("× ")
        self._count.setToolTip("How many the aeroplane has: 2 for a pair, which counts twice.")
        self._rows: list[tuple[Label, QLineEdit | QComboBox | QSpinBox]] = []
        grid = QGridLayout(self)
        grid.setContentsMargins(12, 8, 12, 10)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(5)
        places = (
            ("Label", self._label, 0, 0, 3), ("Kind", self._kind, 1, 0, 1), ("Count", self._count, 1, 2, 1),
            ("Stance", self._stance, 3, 0, 3), ("Apart", self._apart, 4, 0, 3),
            ("Weighs", self._weighs, 5, 0, 3), ("Node x", self._x, 6, 0, 1), ("z", self._z, 6, 2, 1),
        )
        for words, field, row, column, span in places:
            label = Label(words)
            label.setBuddy(field)
            field.setAccessibleName(words)
            for part in (label, field):
                set_help(part, FIELDS[words])
            grid.addWidget(label, row, column)
            grid.addWidget(field, row, column + 1, 1, span)
            self._rows.append((label, field))
        self.question = CountQuestion(self._counted)
        grid.addWidget(self.question, 2, 0, 1, 4)
        self.fin = FinForm(document, picked, say)
        grid.addWidget(self.fin, 7, 0, 1, 4)
        for field in (self._x, self._z):
            field.setAlignment(Qt.AlignmentFlag.AlignRight)
            field.setPlaceholderText("–")
            field.setToolTip("Exact coordinates of one selected node, in any unit.")
        for field in (self._weighs, self._apart):
            field.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._weighs.setToolTip(plain(_WEIGHS_TIP))
        self._apart.setToolTip(plain(_APART_TIP))
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        self._label.editingFinished.connect(self._labelled)
        self._kind.activated.connect(
            lambda at: self._set("kind", lambda d, ids: change_kinds(d, ids, KINDS[at]))
        )
        self._stance.activated.connect(
            lambda at: self._set("stance", lambda d, ids: _with_stance(d, ids, _STANCES[at]))
        )
        self._count.valueChanged.connect(self._counted)
        self._count.refused.connect(self._say)
        self._x.editingFinished.connect(self._placed)
        self._z.editingFinished.connect(self._placed)
        self._weighs.editingFinished.connect(self._weighed)
        self._apart.editingFinished.connect(self._set_apart)
        set_help(self, "words/outline")
        self._filling = False
        self.set_theme(theme)
        self.refresh()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setObjectName("form")
        self.setStyleSheet(f"#form {{ border-top: 1px solid {theme.line}; }}")
        self.question.set_theme(theme)

    def _outlines(self) -> list[Outline]:
        ids = self._picked.now.outlines
        return [o for o in self._document.edited.outlines if o.id in ids]

    def _node(self) -> tuple[Outline, int] | None:
        if len(self._picked.now.nodes) != 1:
            return None
        owner, index = next(iter(self._picked.now.nodes))
        for outline in self._document.edited.outlines:
            if outline.id == owner and index < len(outline.nodes):
                return outline, index
        return None

    def refresh(self) -> None:
        """Show what is selected."""
        outlines, node = self._outlines(), self._node()
        self._filling = True
        first = outlines[0] if outlines else None
        if not (self._label.hasFocus() and self._label.isModified()):
            several = f"{len(outlines)} outlines" if len(outlines) > 1 else ""
            text = first.label if first is not None and len(outlines) == 1 else several
            if self._label.text() != text:
                self._label.setText(text)
        _show(self._kind, {o.kind for o in outlines} or {OTHER})
        _show(self._stance, {o.standing for o in outlines} or {"joined"})
        if not self._count.lineEdit().isModified() or not self._count.hasFocus():
            counts = {o.count for o in outlines} or {1}
            # Below one stands what is said where the counts differ.
            differ = len(counts) > 1
            self._count.setMinimum(0 if differ else 1)
            self._count.setSpecialValueText(DIFFERS if differ else "")
            self._count.setValue(0 if differ else min(counts))
        self._label.setEnabled(len(outlines) == 1)
        for field in (self._kind, self._stance, self._count, self._weighs):
            field.setEnabled(bool(outlines))
        self._share_the_room(outlines, node is not None)
        units = self._document.edited.display_units
        if not (self._weighs.hasFocus() and self._weighs.isModified()):
            differ = len({o.grams_per_dm2 for o in outlines}) > 1
            loading = first.grams_per_dm2 if first and not differ else None
            text = format_loading(loading, units, least_places=True) if loading is not None else ""
            if self._weighs.text() != text:
                self._weighs.setText(text)
            self._weighs.setPlaceholderText(DIFFERS if differ else f"{unit_of_loading(units)}, nothing")
        self._show_apart(outlines, units)
        for line, axis in ((self._x, "x"), (self._z, "z")):
            line.setEnabled(node is not None)
            if line.hasFocus() and line.isModified():
                continue
            text = format_typed(getattr(node[0].nodes[node[1]], axis), units) if node else ""
            if line.text() != text:
                line.setText(text)
        self._filling = False

    def _share_the_room(self, outlines: list[Outline], with_node: bool) -> None:
        """Where no node is selected, what is asked takes the place of its coordinates: there is no more room.

        Apart is there only for upright surfaces that come twice; anything else has no distance to enter.
        """
        alone = outlines[0] if len(outlines) == 1 and not with_node else None
        asked = alone if alone in unlooked(self._document.edited) else None
        pair = bool(outlines) and not with_node and all(map(has_apart, outlines))
        fin = self.fin.show_for(nodes=with_node)
        coordinates = asked is None and not pair and not fin
        for rows, shown in ((self._rows[4:5], pair), (self._rows[-2:], coordinates)):
            for part in (part for row in rows for part in row if part.isHidden() == shown):
                part.setVisible(shown)
        self.question.ask(asked)

    def _show_apart(self, outlines: list[Outline], units: DisplayUnits) -> None:
        if self._apart.hasFocus() and self._apart.isModified():
            return
        distances = {o.apart for o in outlines}
        apart = distances.pop() if len(distances) == 1 else None
        text = "" if apart is None else format_typed(apart, units)
        if self._apart.text() != text:
            self._apart.setText(text)
        self._apart.setPlaceholderText(DIFFERS if distances else "the two, middle to middle")

    def _labelled(self) -> None:
        outlines = self._outlines()
        if self._label.isModified() and len(outlines) == 1:
            self._label.setModified(False)
            text = self._label.text().strip()
            self._apply("rename", lambda d: change_outlines(d, (outlines[0].id,), label=text))

    def _set(self, what: str, edit: Callable[[Design, list[str]], Design]) -> None:
        ids = [o.id for o in self._outlines()]
        if ids and not self._filling:
            self._apply(f"set {what}", lambda d: edit(d, ids))

    def _counted(self, count: int) -> None:
        self._set("count", lambda d, ids: set_count(d, ids, count))

    def _weighed(self) -> None:
        if not self._weighs.isModified():
            return
        self._weighs.setModified(False)
        text, outlines = self._weighs.text().strip(), self._outlines()
        units = self._document.edited.display_units
        try:
            loading = parse_loading(text, units, "Weight by area") if text else None
        except UnitError as error:
            self._say(str(error))
        else:
            ids = [o.id for o in outlines]
            words = called(outlines[0]) if len(outlines) == 1 else "outlines"
            if ids:
                self._apply(f"weigh {words} by area", lambda d: set_area_weight(d, ids, loading))
        self.refresh()

    def _set_apart(self) -> None:
        if not self._apart.isModified():
            return
        self._apart.setModified(False)
        ids, text = [o.id for o in self._outlines()], self._apart.text().strip()
        before = self._document.edited
        try:
            apart = parse_length(text, before.display_units) if text else None
            if set_apart(before, ids, apart) != before:
                self._apply("set how far apart they stand", lambda d: set_apart(d, ids, apart))
        except (UnitError, EditError) as error:
            self._say(str(error))
        else:
            was = {o.id: o.apart for o in before.outlines}
            also = [o for o in self._document.edited.outlines if o.id not in ids and o.apart != was[o.id]]
            if also:
                self._say(f"The same goes for {' and '.join(map(called, also))}, of the same pair")
        self.refresh()

    def _placed(self) -> None:
        node = self._node()
        if node is None or not (self._x.isModified() or self._z.isModified()):
            return
        units = self._document.edited.display_units
        outline, index = node
        now = outline.nodes[index]
        try:
            x = parse_length(self._x.text(), units) if self._x.isModified() else now.x
            z = parse_length(self._z.text(), units) if self._z.isModified() else now.z
        except UnitError as error:
            self._say(str(error))
            self._unmodified()
            self.refresh()
            return
        self._unmodified()
        self._apply("place node", lambda d: with_partners(d, {outline.id: place_node(outline, index, x, z)}))

    def _unmodified(self) -> None:
        self._x.setModified(False)
        self._z.setModified(False)

    def _apply(self, name: str, edit: Callable[[Design], Design]) -> None:
        self._document.apply(name, edit, "outline form")


def _show(field: QComboBox, values: set[str]) -> None:
    """The one value of all that is selected; none where they differ."""
    if len(values) == 1:
        field.setCurrentText(values.pop())
    else:
        field.setCurrentIndex(-1)


def _with_stance(design: Design, ids: list[str], stance: Stance) -> Design:
    """What the rule would say anyway is left out, so that it follows kind and count."""
    return with_outlines(design, {
        o.id: replace(o, stance=None if stance == default_stance(o.kind, o.count) else stance)
        for o in design.outlines if o.id in ids
    })
