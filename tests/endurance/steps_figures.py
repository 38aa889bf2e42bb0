"""Steps on what is typed or listed: aim, flight, title, units, wings and tailplanes, weights, the bench."""

from __future__ import annotations

from random import Random
from typing import Any

from desk import FREE, SHIFT, Desk
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit
from steps import MOST_PARTS, step

from app.work.selection import Selection
from core.redesign.surface_lists import all_surfaces

Key = Qt.Key
_LENGTHS = ("12 mm", "250", "1.2 m", "14 3/8 in", "0", "-35 mm", "wide", "")


@step(3)
def typed_figure(desk: Desk, n: Random) -> None:
    """CG, aim, flight, width of the fuselage: typed, well or badly."""
    inputs = desk.window.readings._inputs
    key = n.choice(sorted(inputs))
    texts = {
        "low": ("20 %", "0.1", "30 %", "-5 %", "much"), "high": ("30 %", "0.35", "10 %", "soon"),
        "cla_fraction": ("25 %", "0.4", "90 %", "x"), "speed": ("12 m/s", "30 mph", "0", "fast"),
        "throw": ("20", "35°", "120", "?"), "density": ("1.2", "0.9 kg/m³", "-1"),
        "propeller": ("10 in", "254 mm", "10", "none", "0", "-9 in", "two blades", ""),
    }.get(key, _LENGTHS)
    desk.type_into(inputs[key], n.choice(texts))


@step(3)
def drag_the_aim(desk: Desk, n: Random) -> None:
    """The aim or its limits on the arm rule, by mouse or keys."""
    rule = desk.window.arm_rule
    if n.random() < 0.3:
        rule.setFocus()
        for _ in range(n.randint(1, 3)):
            desk.key(n.choice((Key.Key_Left, Key.Key_Right)), n.choice((FREE, SHIFT)), on=rule)
        # A run of keys is one gesture until it is kept, or let be.
        desk.key(n.choice((Key.Key_Return, Key.Key_Escape)), on=rule)
        return
    arm, aim = rule._arm(), desk.design.aim
    if arm is None:
        return
    fraction = n.choice((aim.low, aim.cla_fraction, aim.high))
    x = min(max(round(rule._x(fraction)), -5000), 5000)
    at = QPoint(x, rule.height() // 3)
    QTest.mousePress(rule, Qt.MouseButton.LeftButton, FREE, at)
    for _ in range(3):
        at += QPoint(n.randint(-25, 25), 0)
        desk.send(rule, at, n.choice((FREE, SHIFT)), Qt.MouseButton.LeftButton)
    if n.random() < 0.15:
        desk.key(Key.Key_Escape, on=rule)
    QTest.mouseRelease(rule, Qt.MouseButton.LeftButton, FREE, at)


@step(2)
def units_and_tail_arm(desk: Desk, n: Random) -> None:
    """Other units, or another end of the tail arm."""
    desk.do(n.choice(("mm", "in", "in64", "units", "arm-centroid", "arm-quarter")))


@step(1)
def title_and_notes(desk: Desk, n: Random) -> None:
    """In their dialogue, or given up there."""
    title = n.choice(("A longer name", "Wren 40", ""))
    notes = n.choice(("", "covered in tissue\nand dope", "è ü – ½"))
    given = n.random() < 0.8

    def fill(box: Any) -> None:
        box.findChild(QLineEdit).setText(title)
        box.findChild(QPlainTextEdit).setPlainText(notes)
        box.accept() if given else box.reject()

    desk.answer(fill)
    desk.do("notes")


@step(5)
def surfaces(desk: Desk, n: Random) -> None:
    """Wings and tailplanes added, copied, deleted, measured, given more stations, counted or not."""
    window = desk.window
    panel, form = window.surfaces, window.surfaces.form
    window.tabs.setCurrentWidget(panel)
    there = all_surfaces(desk.design)
    what = n.choice(("add", "duplicate", "delete", "measure", "measure", "station", "cell", "count", "label"))
    if what == "add":
        if len(there) < MOST_PARTS:
            n.choice((panel.add_wing, panel.add_tailplane))()
        return
    if not there:
        return
    panel.choose(n.choice(there))
    if what == "duplicate":
        if len(there) < MOST_PARTS:
            panel.duplicate()
    elif what == "delete":
        panel.delete()
    elif what == "measure":
        key = n.choice(sorted(form.fields))
        part = key in ("thickness", "camber", "camber_at", "elevator_chord_fraction")
        angle = key.endswith("_deg")
        texts = ("3°", "-2", "0", "90") if angle else ("10 %", "0.12", "0", "140 %") if part else _LENGTHS
        desk.type_into(form.fields[key], n.choice(texts))
    elif what == "station":
        table = form.table
        table.choose(n.choice(("panels", "stations")))
        rows = table.model.rowCount()
        if rows:
            table.view.setCurrentIndex(table.model.index(n.randrange(rows), 0))
        n.choice((table.insert, table.add, table.delete) if rows < 6 else (table.delete,))()
    elif what == "cell":
        model = form.table.model
        if model.rowCount():
            index = model.index(n.randrange(model.rowCount()), n.randrange(model.columnCount()))
            if model.flags(index) & Qt.ItemFlag.ItemIsEditable:
                model.setData(index, n.choice(("120 mm", "6 in", "4", "-20", "none")))
    elif what == "count":
        form.counts.click()
    else:
        desk.type_into(form.label, n.choice(("", "Upper wing", "T-tail")))


@step(4)
def weights(desk: Desk, n: Random) -> None:
    """Weights added, copied, deleted, typed; the CG from them or from the mark; lead put in."""
    window = desk.window
    panel = window.weights
    window.tabs.setCurrentWidget(panel)
    there = desk.design.weights
    what = n.choice(("add", "duplicate", "delete", "cell", "cell", "cell", "from", "lead"))
    if what == "from":
        panel._choose(n.choice(("mark", "weights")))
    elif what == "add":
        if len(there) < MOST_PARTS:
            panel.add()
            desk.settle()
            window.canvas.setFocus()
    elif what == "lead":
        panel.lead.put_in()
    elif there:
        window.picked.set(Selection(weight=n.choice(there).id))
        if what == "duplicate" and len(there) < MOST_PARTS:
            panel.duplicate()
        elif what == "delete":
            panel.delete()
        elif what == "cell":
            index = panel.model.index(n.randrange(len(there)), n.randrange(panel.model.columnCount()))
            texts = ("35", "120 g", "3 oz", "9 in", "x", "-4") if index.column() else ("pack", "servo, rear")
            panel.model.setData(index, n.choice(texts))


@step(3)
def bench(desk: Desk, n: Random) -> None:
    """Linkages and weighings in the window for setting up, which may stay open."""
    window: Any = desk.window.side.show("setting-up")
    panel = n.choice((window.linkages, window.weighing))
    window.tabs.setCurrentWidget(panel)
    rows = panel.model.rowCount()
    what = n.choice(("add", "duplicate", "delete", "cell", "cell", "cell", "horn"))
    if what == "add" and rows < MOST_PARTS:
        panel.add()
    elif rows:
        panel.table.setCurrentIndex(panel.model.index(n.randrange(rows), 0))
        if what == "duplicate" and rows < MOST_PARTS:
            panel.duplicate()
        elif what == "delete":
            panel.delete()
        elif what == "horn" and panel is window.linkages:
            desk.type_into(panel.wanted, n.choice(("15°", "20 mm", "80°", "some")))
            panel.use_horn.click()
        elif what == "cell":
            index = panel.model.index(n.randrange(rows), n.randrange(panel.model.columnCount()))
            if panel.model.flags(index) & Qt.ItemFlag.ItemIsEditable:
                texts = ("12 mm", "40", "450 g", "", "1/2 in", "rudder", "pull-pull")
                panel.model.setData(index, n.choice(texts))
    if n.random() < 0.5:
        window.close()
