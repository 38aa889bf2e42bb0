"""Writing the design that a command has made of another."""

from __future__ import annotations

import sys
from pathlib import Path

from app.cli.common import COMMAND_LINE, CommandError, new_file, not_usable, one_line, say
from app.kit.sentences import as_sentence
from core.design import Design
from core.design_beside import renamed_words
from core.design_file import DesignFile, DesignFileError, write
from core.file_kinds import DESIGN


def write_new(out: str, name: str, made_from: DesignFile, design: Design) -> None:
    """Write ``design`` to ``out`` with the scans of the file ``name`` that it was made from; CommandError."""
    try:
        home = Path(name).parent if made_from.bare else None
        renamed = write(new_file(out, DESIGN), design, made_from.held, home)
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    except (OSError, ValueError) as error:
        raise CommandError([not_usable(out, error)], COMMAND_LINE) from None
    # A scan that could not be read is not in the new file either: say so, though the rest is done.
    troubles = (*made_from.troubles, *renamed_words(Path(out), renamed))
    say([f"{one_line(as_sentence(trouble))}" for trouble in troubles], sys.stderr)
