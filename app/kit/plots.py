"""The plot library, its errors told like our own; every plot takes the library from here."""

import pyqtgraph as pg

from app.kit.overrides import tell_errors_of

__all__ = ["pg"]

tell_errors_of("pyqtgraph")
