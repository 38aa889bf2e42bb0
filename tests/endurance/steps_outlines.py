"""Steps on outlines: traced, dragged, nudged, edited by keys, menus, list and form."""

from __future__ import annotations

from random import Random

from desk import CTRL, FREE, LEFT, SHIFT, Desk
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QInputDialog, QMenu
from steps import (
    held_keys,
    in_sight,
    middle_of_edge,
    near,
    picked_some,
    place_on_sheet,
    room_for_outlines,
    some_outline,
    step,
)

from app.canvas.tools.edit import grip_offset, scale_grip
from app.window.context_menu import context_menu
from app.work.selection import NOTHING, Selection
from core.kinds import KINDS

Key = Qt.Key
ENDINGS = ("release", "release", "release", "Escape", "undo", "arrow", "another hand")


@step(4)
def trace(desk: Desk, n: Random) -> None:
    """Corners and curves, steps taken back, closed in one of the ways, given up, or left half drawn."""
    canvas = desk.canvas
    canvas.take_hand("trace")
    canvas.set_tracing_kind(n.choice(KINDS))
    for _ in range(n.randint(1, 7)):
        at = place_on_sheet(desk, n)
        if n.random() < 0.35:
            desk.drag(at, near(desk, n, at, 40), steps=2)
        else:
            desk.click(at, SHIFT if n.random() < 0.1 else FREE)
    for _ in range(n.choice((0, 0, 0, 1, 2))):
        n.choice((lambda: desk.key(Key.Key_Backspace), desk.window.undoing.undo, desk.window.undoing.redo))()
    nodes = canvas.hand.overlay().draft_nodes
    ending = n.choice(("Return", "first node", "double", "Escape", "another hand", "half drawn"))
    if ending in ("Return", "first node", "double") and not room_for_outlines(desk):
        ending = "Escape"
    if ending == "first node" and nodes:
        desk.click(nodes[0])
    elif ending == "double":
        desk.double(place_on_sheet(desk, n))
    elif ending in ("Return", "Escape"):
        desk.key(Key.Key_Return if ending == "Return" else Key.Key_Escape)
    if ending != "half drawn":
        canvas.take_hand("edit")


def _hold_of(desk: Desk, n: Random, what: str) -> tuple[float, float] | None:
    design = desk.design
    if what == "mark":
        return (design.cg_mark.x, design.cg_mark.z) if design.cg_mark else None
    if what == "grip":
        corner = scale_grip(design, desk.window.picked.now) if picked_some(desk, n) else None
        if corner is None:
            return None
        view = desk.canvas.view
        return view.to_mm(*grip_offset(*view.to_px(*corner)))
    if what == "weight":
        desk.window.tabs.setCurrentWidget(desk.window.weights)
        weight = n.choice(design.weights) if design.weights else None
        return (weight.x, weight.z) if weight else None
    outline = some_outline(desk, n)
    if outline is None or not outline.nodes:
        return None
    index = n.randrange(len(outline.nodes))
    node = outline.nodes[index]
    if what == "node":
        return node.x, node.z
    if what == "handle":
        desk.window.picked.set(Selection((outline.id,)))
        out = node.handle_out or node.handle_in or (0.0, 0.0)
        return node.x + out[0], node.z + out[1]
    if what == "edge":
        return middle_of_edge(outline, index)
    count = len(outline.nodes)
    return sum(p.x for p in outline.nodes) / count, sum(p.z for p in outline.nodes) / count


@step(14)
def drag(desk: Desk, n: Random) -> None:
    """Take hold of a node, an edge, a handle, an outline, the root grip or a mark, and pull."""
    in_sight(desk, n)
    what = n.choice(("node", "edge", "edge", "handle", "body", "grip", "mark", "weight"))
    start = _hold_of(desk, n, what)
    if start is None:
        return
    if desk.canvas.hand.name != "edit":
        desk.canvas.take_hand("edit")
    if what == "body":
        # Only what is selected moves as a whole.
        desk.click(start)
    held, ending = held_keys(n), n.choice(ENDINGS)
    end = near(desk, n, start, 90)
    desk.drag(start, end, held, drop=False)
    if ending == "Escape":
        desk.key(Key.Key_Escape)
    elif ending == "undo":
        desk.window.undoing.undo()
    elif ending == "arrow":
        desk.key(Key.Key_Right)
    elif ending == "another hand":
        desk.canvas.take_hand("trace")
    QTest.mouseRelease(desk.canvas, LEFT, held, desk.px(end))
    desk.canvas.take_hand("edit")


@step(3)
def select(desk: Desk, n: Random) -> None:
    """By a click, a band, the list of outlines, or nothing at all."""
    way, canvas = n.choice(("click", "band", "several", "nodes", "all", "none")), desk.canvas
    canvas.take_hand("edit")
    outlines = desk.design.outlines
    if way == "click":
        start = _hold_of(desk, n, n.choice(("node", "edge", "body")))
        if start is not None:
            desk.click(start, n.choice((FREE, SHIFT, CTRL)))
    elif way == "band":
        desk.drag(place_on_sheet(desk, n), place_on_sheet(desk, n), n.choice((FREE, SHIFT)))
    elif way == "all":
        desk.do("all")
    elif way == "several" and outlines:
        some = n.sample(outlines, min(len(outlines), n.randint(1, 3)))
        desk.window.picked.set(Selection(tuple(o.id for o in some)))
    elif way == "nodes" and outlines:
        outline = n.choice(outlines)
        nodes = {(outline.id, n.randrange(len(outline.nodes))) for _ in range(3)}
        desk.window.picked.set(Selection((outline.id,), frozenset(nodes)))
    else:
        desk.window.picked.set(NOTHING)


@step(5)
def nudge(desk: Desk, n: Random) -> None:
    """A few arrow keys, with and without Shift."""
    picked_some(desk, n)
    desk.canvas.take_hand("edit")
    for _ in range(n.randint(1, 4)):
        way = n.choice((Key.Key_Left, Key.Key_Right, Key.Key_Up, Key.Key_Down))
        desk.key(way, n.choice((FREE, FREE, SHIFT)))
    desk.canvas.hand.settle()


@step(3)
def insert_node(desk: Desk, n: Random) -> None:
    """A double click on an edge, or "Insert node here" of the menu under the right button."""
    in_sight(desk, n)
    desk.canvas.take_hand("edit")
    outline = some_outline(desk, n)
    if outline is None or len(outline.nodes) > 30:
        return
    at = middle_of_edge(outline, n.randrange(len(outline.nodes)))
    if n.random() < 0.5:
        desk.double(at)
        return
    window = desk.window
    menu = context_menu(window.desk, window.canvas, window.edits, window.menus.actions, QPointF(desk.px(at)))
    for action in menu.actions():
        if action.text() == "Insert node here":
            action.trigger()
    menu.deleteLater()


@step(2)
def right_button(desk: Desk, n: Random) -> None:
    """The menu of what lies under the mouse, and one of its entries."""
    desk.canvas.take_hand("edit")
    start = _hold_of(desk, n, n.choice(("node", "edge", "body"))) or place_on_sheet(desk, n)

    names = ("corner", "smooth", "duplicate", "lock", "fit", "delete")
    wanted = [desk.window.menus.actions[name] for name in names]

    def choose(menu: QMenu) -> None:
        actions = [a for a in menu.actions() if a in wanted and a.isEnabled()]
        menu.close()
        if actions and room_for_outlines(desk):
            n.choice(actions).trigger()

    with desk.answering(choose):
        desk.canvas.menu_wanted.emit(QPointF(desk.px(start)))


@step(3)
def delete_by_key(desk: Desk, n: Random) -> None:
    """Nodes, or outlines where only they are selected."""
    if len(desk.design.outlines) < 3 and not desk.window.picked.now.nodes:
        return
    desk.canvas.take_hand("edit")
    desk.key(n.choice((Key.Key_Delete, Key.Key_Backspace)))


@step(3)
def corner_or_smooth(desk: Desk, n: Random) -> None:
    """The selected nodes, or some."""
    outline = some_outline(desk, n)
    if outline is not None and not desk.window.picked.now.nodes:
        index = n.randrange(len(outline.nodes))
        desk.window.picked.set(Selection((outline.id,), frozenset({(outline.id, index)})))
    desk.do(n.choice(("corner", "smooth")))


@step(6)
def outline_form(desk: Desk, n: Random) -> None:
    """Label, kind, count, stance, weight by area, how far a pair stands apart, the place of a node."""
    if not picked_some(desk, n):
        return
    window = desk.window
    window.tabs.setCurrentWidget(window.outlines)
    form, what = window.outlines.form, n.choice((
        "label", "kind", "count", "stance", "weighs", "apart", "x", "z",
    ))
    if what == "label":
        desk.type_into(form._label, n.choice(("", "Fin", "A long label, with a comma", "Ruder ü")))
    elif what in ("kind", "stance"):
        field = form._kind if what == "kind" else form._stance
        field.setCurrentIndex(n.randrange(field.count()))
        field.activated.emit(field.currentIndex())
    elif what == "count":
        form._count.setValue(n.choice((1, 1, 2, 2, 3, 8)))
    elif what == "weighs":
        desk.type_into(form._weighs, n.choice(("", "8", "12.5 g/dm²", "much")))
    elif what == "apart":
        if not form._apart.isHidden():
            desk.type_into(form._apart, n.choice(("", "330", "13 in", "0", "wide")))
    else:
        outline = some_outline(desk, n)
        if outline is not None:
            index = n.randrange(len(outline.nodes))
            window.picked.set(Selection((outline.id,), frozenset({(outline.id, index)})))
            line = form._x if what == "x" else form._z
            texts = (f"{n.randint(-50, 900)} mm", f"{n.randint(1, 30)} 3/8 in", "far")
            desk.type_into(line, n.choice(texts))


@step(4)
def lock_or_hide(desk: Desk, n: Random) -> None:
    """The selected outlines, by menu or by a click on the signs in the list."""
    if picked_some(desk, n):
        window = desk.window
        if n.random() < 0.5:
            desk.do(n.choice(("lock", "hide")))
        else:
            outline = n.choice(desk.design.outlines)
            window.outlines._toggle(outline, n.choice(("locked", "hidden")))


@step(1)
def show_all_again(desk: Desk, n: Random) -> None:
    """Whatever is hidden or locked is not, one outline after the other."""
    for outline in desk.design.outlines:
        for field in ("locked", "hidden"):
            if getattr(outline, field):
                desk.window.outlines._toggle(desk.design.outline(outline.id), field)


@step(4)
def copy_and_paste(desk: Desk, n: Random) -> None:
    """Duplicate, copy, cut, paste."""
    if picked_some(desk, n):
        name = n.choice(("duplicate", "copy", "cut", "paste"))
        if name in ("copy", "cut") or len(desk.design.outlines) < 10:
            desk.do(name)


@step(2)
def mirror_outlines(desk: Desk, n: Random) -> None:
    """Fore and aft."""
    if picked_some(desk, n):
        desk.do("mirror")


@step(2)
def reorder(desk: Desk, n: Random) -> None:
    """Up or down in the list."""
    if picked_some(desk, n):
        desk.window.outlines._buttons[n.choice(("up", "down"))].click()


@step(2)
def scale_from_root(desk: Desk, n: Random) -> None:
    """By a typed per cent."""
    if picked_some(desk, n):
        words = n.choice(("110", "90", "80 × 125", "100 × 105", "nothing", "0"))

        def given(box: QInputDialog) -> None:
            box.setTextValue(words)
            if words in ("nothing", "0"):
                desk.answer(lambda refusal: refusal.close())
            box.accept()

        desk.answer(given)
        desk.do("scale-root")
