"""Errors in what Qt calls go to the hook for errors, and never back through Qt.

PySide passes an error on through Qt to the Python code that caused the call (by ``show``, ``resize``,
an event filter, the data of a model). There 6.11 can end the process: up to Python 3.11 an error that the
interpreter raises by itself, such as a division by nothing, leaves a function as a kind and a text and
PySide takes it for an object; and what Qt calls before it returns finds the error still there.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from types import FunctionType
from typing import Any, TypeVar

from PySide6.QtCore import QRectF

Kind = TypeVar("Kind", bound=type)
_CALLED_BY_QT = {"event", "eventFilter", "paint", "boundingRect", "shape", "itemChange", "sizeHint"}


def errors_told(kind: Kind) -> Kind:
    """Decorates a class of Qt's: an error in what it overrides is told at once, by ``sys.excepthook``.

    An event then counts as handled; for anything else the class's base does what was asked for.
    """
    for name in overridden(kind):
        setattr(kind, name, _told(kind, name, vars(kind)[name]))
    return kind


def tell_errors_of(library: str) -> None:
    """Have the same done for every class of a library that is imported: call it before one is made.

    Only what Qt itself calls: what our code calls there raises as ever.
    """
    theirs = f"{library}."
    kinds = {
        kind for name, module in tuple(sys.modules.items()) if name.startswith(theirs)
        for kind in vars(module).values() if isinstance(kind, type)
    }
    found = {
        (base, name)
        for kind in kinds for base in kind.__mro__ if base.__module__.startswith(theirs)
        for name, function in vars(base).items()
        if isinstance(function, FunctionType) and (name.endswith("Event") or name in _CALLED_BY_QT)
        and any(name in vars(other) for other in kind.__mro__ if other.__module__.startswith("PySide6."))
    }
    for kind, name in found:
        setattr(kind, name, _told(kind, name, vars(kind)[name]))


def overridden(kind: type) -> list[str]:
    """Names of the functions in ``kind`` that stand in for one of a class that is not ours."""
    bases = [base for base in kind.__mro__[1:-1] if not base.__module__.startswith("app.")]
    return [
        name for name, function in vars(kind).items()
        if isinstance(function, FunctionType) and name != "__init__"
        and any(name in vars(base) for base in bases)
    ]


def _told(kind: type, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(function)
    def call(self: Any, *arguments: Any, **named: Any) -> Any:
        try:
            return function(self, *arguments, **named)
        except Exception as error:
            sys.excepthook(type(error), error, error.__traceback__)
        if name.endswith("Event"):
            return None
        try:
            return getattr(super(kind, self), name)(*arguments, **named)
        except NotImplementedError:  # a model's rows and data, an item's picture and extent have no base
            return 0 if name.endswith("Count") else QRectF() if name == "boundingRect" else None

    return call
