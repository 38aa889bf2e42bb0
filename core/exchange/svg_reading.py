"""Outlines read from SVG: paths and basic shapes, through all their groups, copies and transforms.

The scale comes from ``width`` or ``height`` in a true unit together with ``viewBox``. A file that
names pixels only is not believed: programs disagree on how many make an inch. <use>, <symbol> and
nested drawings are resolved within the file; nothing that it points at is fetched. What is not
displayed is left out unless asked for.
By the SVG 1.1 recommendation (W3C, 2011), chapters 5 and 7 to 9; from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from core.exchange.closed import Gathering, Imported, Named, Piece, paths_were
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.exchange.naming import named_by
from core.exchange.svg import DRAWING_ID
from core.exchange.svg_shapes import (
    LENGTH,
    MM,
    SHAPES,
    Matrix,
    length_of,
    placed,
    rows_of,
    times,
    transform_of,
)
from core.exchange.svg_tree import Element, by_id, plain_words, tree_of
from core.kinds import Kind

MOST_COPIED = 20_000
_DEEPEST_COPIES = 16
_DEEPEST = 300
_HREF = ("href", "http://www.w3.org/1999/xlink href")
_ONLY_BY_USE = frozenset({"defs", "symbol"})


def outlines_from_svg(
    data: bytes, *, kind: Kind | None = None, mm_per_unit: float | None = None, unseen: bool = False
) -> Imported:
    """The outlines in an SVG file. ``kind`` is for all of them; else as the file says or names them, or
    ``other``.
    ``unseen``: those that are not displayed too.

    ``mm_per_unit`` is the length of one user unit of the outermost drawing, in place of what the file
    says. ScaleUnknownError where neither says it, UnseenError where nothing is to be seen;
    ExchangeError for whatever else is wrong.
    """
    root = tree_of(data)
    return _Reading(root, kind, mm_per_unit, unseen).done()


class _Reading:
    """Goes through the elements as they are drawn."""

    def __init__(self, root: Element, kind: Kind | None, mm_per_unit: float | None, unseen: bool) -> None:
        self._gathering = Gathering(kind)
        self._gathering.ours = root.given.get("id") == DRAWING_ID
        self._take_unseen = unseen
        self._ids = by_id(root)
        self._stack: list[Element] = []
        # Read once, however often an element is copied.
        self._rows: dict[Element, list[list[Piece]]] = {}
        self._transforms: dict[Element, Matrix] = {}
        self._copied = 0
        box = _view_box(root.given)
        self._size = (box[2], box[3]) if box else None
        self._stack.append(root)
        matrix = _to_mm(root.given, mm_per_unit)
        self._inside(root, matrix, (), _seen(root.given, True))

    def done(self) -> Imported:
        """All that was drawn."""
        unseen = self._gathering.unseen
        if unseen:
            self._gathering.notes.append(f"{paths_were(unseen, 'shape')} left out, not being displayed there")
        return self._gathering.done()

    def _inside(
        self, element: Element, matrix: Matrix, copies: tuple[Element, ...], seen: bool | None
    ) -> None:
        for child in element.children:
            if child.name not in _ONLY_BY_USE:
                self._visit(child, matrix, copies, seen)

    def _visit(
        self, element: Element, matrix: Matrix, copies: tuple[Element, ...], seen: bool | None,
        size: Mapping[str, str] | None = None,
    ) -> None:
        """``seen`` None: nothing in it can be; ``size``: what a <use> says of width and height."""
        where = element.where
        self._copied += bool(copies)
        if self._copied > MOST_COPIED:
            raise _SaidError(f"{where}: more than {MOST_COPIED} elements come out of copies; simplify it")
        if len(self._stack) >= _DEEPEST:
            self._leave(where, "stands too deep in copies of copies")
            return
        seen = _seen(element.given, seen)
        self._stack.append(element)
        try:
            if "transform" in element.given:
                if element not in self._transforms:
                    self._transforms[element] = transform_of(element.given["transform"])
                matrix = times(matrix, self._transforms[element])
            if element.name in SHAPES:
                self._shape(element, matrix, seen)
            elif element.name == "use":
                self._use(element, matrix, copies, seen)
            elif element.name in ("svg", "symbol"):
                fitted = self._fitted(element, size or {})
                if fitted is not None:
                    self._inside(element, times(matrix, fitted), copies, seen)
            else:
                self._inside(element, matrix, copies, seen)
        except _SaidError:
            raise
        except ExchangeError as error:
            raise _SaidError(f"{where}: {error}") from None
        finally:
            self._stack.pop()

    def _leave(self, where: str, why: str) -> None:
        self._gathering.notes.append(f"{where} was left out: it {why}")

    def _use(
        self, element: Element, matrix: Matrix, copies: tuple[Element, ...], seen: bool | None
    ) -> None:
        href = next((element.given[name] for name in _HREF if name in element.given), "").strip()
        target = self._ids.get(href[1:]) if href.startswith("#") else None
        if href and not href.startswith("#"):
            self._leave(element.where, "copies from another file, and nothing is fetched")
        elif target is None:
            self._leave(element.where, f'copies "{href[:40]}", which the file does not hold')
        elif target in self._stack:
            self._leave(element.where, "copies itself")
        elif len(copies) >= _DEEPEST_COPIES:
            self._leave(element.where, f"is a copy more than {_DEEPEST_COPIES} copies deep")
        else:
            moved: Matrix = (1.0, 0.0, 0.0, 1.0, length_of(element.given, "x"), length_of(element.given, "y"))
            self._visit(target, times(matrix, moved), (*copies, target), seen, element.given)

    def _fitted(self, element: Element, size: Mapping[str, str]) -> Matrix | None:
        """How the inside of a nested drawing or a symbol lies in what it stands in; None where it has no
        extent or does not say which.
        """
        given = element.given
        x, y = (length_of(given, name) if element.name == "svg" else 0.0 for name in ("x", "y"))
        box = _view_box(given)
        if box is None:
            return 1.0, 0.0, 0.0, 1.0, x, y
        sides = []
        for i, name in enumerate(("width", "height")):
            text = size.get(name, given.get(name, "100%")).strip()
            if text in ("100%", "auto"):
                if self._size is None:
                    self._leave(element.where, "does not say how large it is")
                    return None
                sides.append(self._size[i])
            else:
                sides.append(length_of({name: text}, name))
        if min(*sides, box[2], box[3]) <= 0:
            return None
        how = given.get("preserveAspectRatio", "").split() or ["xMidYMid"]
        sx, sy = sides[0] / box[2], sides[1] / box[3]
        if how[0] != "none":
            sx = sy = max(sx, sy) if "slice" in how else min(sx, sy)
        x += (sides[0] - sx * box[2]) * _share(how[0], "x") - sx * box[0]
        y += (sides[1] - sy * box[3]) * _share(how[0], "Y") - sy * box[1]
        return sx, 0.0, 0.0, sy, x, y

    def _shape(self, element: Element, matrix: Matrix, seen: bool | None) -> None:
        if not seen and not self._take_unseen:
            self._gathering.unseen += 1
            return
        if element not in self._rows:
            self._rows[element] = [row for row in rows_of(element.name, element.given) if row]
        rows = self._rows[element]
        named = self._named(element)
        made = 0
        for row in rows:
            try:
                made += self._gathering.add([placed(piece, matrix) for piece in row], named, element.where)
            except ExchangeError as error:
                raise _SaidError(str(error)) from None
        if made > 1:
            self._gathering.notes.append(
                f"{element.where} has {made} parts, each of which became an outline; "
                "delete those that are holes"
            )

    def _named(self, element: Element) -> Named:
        for above in reversed(self._stack):
            given = above.given
            if "data-id" in given:
                self._gathering.ours = True
                return Named(
                    given["data-id"], element.words() or above.words(), given.get("data-kind", ""),
                    given.get("data-count", ""), given.get("data-stance", ""),
                )
        for above in reversed(self._stack):
            said = named_by(above.given.get("id", ""))
            if said is not None:
                label = element.words() or above.words() or said.label
                return Named(said.stem, label, said.kind, said.count, said.stance)
        copied = [above for above in reversed(self._stack) if above.name == "use"]
        own = next((e.given["id"] for e in (element, *copied) if "id" in e.given), "")
        titled = (above.words() for above in reversed(self._stack[1:]))
        label = next(filter(None, titled), "") or plain_words(own)
        # As with the layers of a DXF: what is called like a kind is one.
        return Named(own, label, label)


class _SaidError(ExchangeError):
    """It says already where it was."""


def _seen(given: Mapping[str, str], above: bool | None) -> bool | None:
    """Whether what is drawn there is to be seen; None: nothing in it can be."""
    if above is None or _style(given, "display") == "none":
        return None
    visible = _style(given, "visibility")
    return above if visible in ("", "inherit") else visible == "visible"


def _style(given: Mapping[str, str], name: str) -> str:
    for each in reversed(given.get("style", "").split(";")):
        key, _, value = each.partition(":")
        if key.strip() == name:
            return value.split("!")[0].strip()
    return given.get(name, "").strip()


def _share(how: str, axis: str) -> float:
    """Of the room that is left over, what comes first: "xMinYMax"."""
    at = how.find(axis)
    return {"Min": 0.0, "Max": 1.0}.get(how[at + 1 : at + 4], 0.5) if at >= 0 else 0.5


def _view_box(given: Mapping[str, str]) -> tuple[float, float, float, float] | None:
    try:
        x, y, wide, high = (float(word) for word in given.get("viewBox", "").replace(",", " ").split())
    except ValueError:
        return None
    return (x, y, wide, high) if all(map(math.isfinite, (x, y, wide, high))) else None


def _to_mm(given: Mapping[str, str], mm_per_unit: float | None) -> Matrix:
    """From the user units of the outermost drawing to mm, y turned up."""
    if mm_per_unit is not None:
        return mm_per_unit, 0.0, 0.0, -mm_per_unit, 0.0, 0.0
    _, _, wide, high = _view_box(given) or (0.0, 0.0, 0.0, 0.0)
    each = [
        _true_length(given.get(name, "")) / units if units > 0 else 0.0
        for name, units in (("width", wide), ("height", high))
    ]
    known = [scale for scale in each if 0 < scale < math.inf]
    if not known:
        raise ScaleUnknownError(
            "the file does not say how long its unit is (width in mm, and a viewBox); "
            "give --mm-per-unit, for example 1, or 0.264583 for pixels at 96 to the inch"
        )
    how = given.get("preserveAspectRatio", "").split()
    if len(known) == 2 and how[:1] == ["none"]:
        return each[0], 0.0, 0.0, -each[1], 0.0, 0.0
    scale = max(known) if "slice" in how else min(known)
    return scale, 0.0, 0.0, -scale, 0.0, 0.0


def _true_length(text: str) -> float:
    """mm; 0 where the unit is none, px or a part of the window."""
    match = LENGTH.fullmatch(text)
    return float(match[1]) * MM.get(match[2], 0.0) if match else 0.0
