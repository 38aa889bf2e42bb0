"""Writing the design that a command has made of another."""

from __future__ import annotations

import sys

from app.cli.common import COMMAND_LINE, CommandError, new_file, not_usable, one_line, say
from app.kit.sentences import as_sentence
from core.design import Design
from core.design_file import DesignFile, DesignFileError, write
from core.file_kinds import DESIGN


def write_new(out: str, made_from: DesignFile, design: Design) -> None:
    """Write ``design`` to ``out`` with the scans of the file that it was made from; CommandError."""
    try:
        write(new_file(out, DESIGN), design, made_from.pictures)
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    except (OSError, ValueError) as error:
        raise CommandError([not_usable(out, error)], COMMAND_LINE) from None
    # A scan that could not be read is not in the new file either: say so, though the rest is done.
    say([f"{one_line(as_sentence(trouble))}" for trouble in made_from.troubles], sys.stderr)
