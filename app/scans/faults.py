"""What may go wrong while a scan is opened."""


class ScanError(Exception):
    """A file that cannot be shown as a scan. Its text is one sentence for the user."""


class OpeningCancelledError(Exception):
    """``cancelled`` said so; nothing is wrong with the file."""


class UnreadableValuesError(ValueError):
    """The pixels hold something that is not grey or colour (32-bit or fractional values)."""
