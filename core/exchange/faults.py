"""What goes wrong with an exchange file, in one sentence each."""

from __future__ import annotations


class ExchangeError(ValueError):
    """A file that cannot be read or a design that cannot be written; its text is one sentence."""


class ScaleUnknownError(ExchangeError):
    """The file does not say how long its unit is; it has to be given."""


class UnseenError(ExchangeError):
    """Everything in the file is switched off or frozen there; whether to take it has to be said."""
