"""The elements of an SVG file as a tree, read with every guard: no entity, no fetching, no flood.

A document type without an internal subset, as old programs write it, names a grammar and no more:
it is cut out unread. One with an internal subset could define entities, and is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NoReturn
from xml.parsers import expat

from core.exchange.closed import must_be_small
from core.exchange.faults import ExchangeError
from core.exchange.svg import NAMESPACE

_DEEPEST = 200
MOST_ELEMENTS = 200_000
# An attribute is read anew in every copy: only those that are kept once read may be long.
_LONGEST = 2_000
_LONG = frozenset({"d", "points", "transform"})
_UNDRAWN = frozenset({
    "clipPath", "mask", "pattern", "marker", "metadata", "style", "script", "foreignObject",
})


@dataclass(eq=False)
class Element:
    """One element of the drawing, and what stands in it."""

    name: str
    where: str
    given: Mapping[str, str]
    children: list[Element] = field(default_factory=list)
    title: list[str] = field(default_factory=list)

    def words(self) -> str:
        """Its title on one line."""
        return plain_words("".join(self.title))


def plain_words(text: str) -> str:
    """The text on one line, without what cannot be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def tree_of(data: bytes) -> Element:
    """The outermost <svg>; ExchangeError where there is none or the file is more than a drawing."""
    must_be_small(data)
    try:
        building = _Building()
        _through(_without_doctype(data), building)
    except expat.ExpatError as error:
        why = expat.ErrorString(error.code)
        raise ExchangeError(
            f"line {error.lineno}: not a whole SVG file ({why}); export the drawing anew"
        ) from None
    except (ValueError, LookupError) as error:
        if isinstance(error, ExchangeError):
            raise
        raise ExchangeError("its encoding is not known here; save it in UTF-8") from None
    assert building.root is not None, "expat refuses a file without an element"
    return building.root


def by_id(root: Element) -> dict[str, Element]:
    """The elements that have an id; the first of several alike."""
    found: dict[str, Element] = {}
    for element in _all(root):
        if "id" in element.given:
            found.setdefault(element.given["id"], element)
    return found


def _all(root: Element) -> Iterator[Element]:
    waiting = [root]
    while waiting:
        element = waiting.pop()
        yield element
        waiting += reversed(element.children)


class _Building:
    """Hears the elements in file order; what is never drawn is counted and not kept."""

    def __init__(self) -> None:
        self.root: Element | None = None
        self._open: list[Element | None] = []
        self._count = 0
        self._in_title = False

    def start(self, name: str, given: dict[str, str]) -> None:
        space, _, local = name.rpartition(" ")
        if len(self._open) >= _DEEPEST:
            raise ExchangeError(f"<{local[:40]}>: nested more than {_DEEPEST} deep; ungroup the drawing")
        self._count += 1
        if self._count > MOST_ELEMENTS:
            raise ExchangeError(f"<{local[:40]}>: more than {MOST_ELEMENTS} elements; simplify the drawing")
        if self.root is None:
            if local != "svg" or space not in ("", NAMESPACE):
                raise ExchangeError(f"found <{local[:40]}> where an SVG begins with <svg>; name an SVG file")
            self.root = Element(local, "svg", given)
            self._open.append(self.root)
            return
        above = self._open[-1]
        if above is None or space not in ("", NAMESPACE) or local in _UNDRAWN:
            self._open.append(None)
            return
        where = f'{local} "{given["id"][:60]}"' if "id" in given else f"{local} (element {self._count})"
        short = {name: text if name in _LONG else text[:_LONGEST] for name, text in given.items()}
        element = Element(local, where, short)
        if local != "title":
            above.children.append(element)
        self._open.append(element)

    def text(self, words: str) -> None:
        # Of <title> the words belong to the element that it stands in.
        top = self._open[-2:]
        if len(top) == 2 and top[1] is not None and top[1].name == "title" and top[0] is not None \
                and len(top[0].title) < 20:
            top[0].title.append(words[:400])

    def end(self, _: str) -> None:
        self._open.pop()


def _through(data: bytes, building: _Building) -> None:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    parser.StartElementHandler = building.start
    parser.EndElementHandler = building.end
    parser.CharacterDataHandler = building.text
    parser.Parse(data, True)


def _refuse(*_: object) -> NoReturn:
    raise ExchangeError(
        "found a document type (<!DOCTYPE ...>) with declarations of its own, which is not read; "
        "delete it from the file"
    )


class _FoundError(Exception):
    """Where the search for a document type ends."""


def _without_doctype(data: bytes) -> bytes:
    """The file without a document type that declares nothing itself.

    Left in, it would make expat pass over entities that nobody has defined, in silence.
    """
    cut: list[int] = []
    parser = expat.ParserCreate()

    def begin(_name: str, _system: str | None, _public: str | None, subset: int) -> None:
        if subset:
            _refuse()

    def stop(*_: object) -> None:
        raise _FoundError

    def finish() -> None:
        cut.append(parser.CurrentByteIndex)
        raise _FoundError

    parser.StartDoctypeDeclHandler = begin
    parser.EndDoctypeDeclHandler = finish
    parser.EntityDeclHandler = _refuse
    parser.StartElementHandler = stop
    try:
        parser.Parse(data, True)
    except _FoundError:
        pass
    except expat.ExpatError:
        # What is wrong with it is said when it is read as a whole.
        return data
    if not cut:
        return data
    for encoding in ("ascii", "utf-16-le", "utf-16-be"):
        end = ">".encode(encoding)
        begins = data.rfind("<!DOCTYPE".encode(encoding), 0, cut[0])
        if begins >= 0 and data.startswith(end, cut[0]):
            return data[:begins] + data[cut[0] + len(end):]
    return _refuse()
