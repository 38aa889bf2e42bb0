"""The command that writes the setting-up sheet. Exit statuses and errors as in ``app.commands``."""

from __future__ import annotations

import datetime
from pathlib import Path

from app.commands import COMMAND_LINE, DONE, CommandError, _not_usable, _opened, one_line
from app.sheets.ink import Paper
from core.design_file import DesignFileError


def write_setting_up(name: str, out: str, paper: Paper) -> int:
    """Write the setting-up sheet of the design in ``name`` to the PDF ``out``."""
    opened = _opened(name)
    target = Path(out)
    try:
        if target.is_dir():
            raise CommandError([f"{one_line(out)}: this is a folder; name a PDF file in it"], COMMAND_LINE)
        if target.exists() and target.samefile(name):
            raise CommandError(
                [f"{one_line(out)}: this is the design itself; name another file"], COMMAND_LINE
            )
    except (OSError, ValueError) as error:
        raise CommandError([_not_usable(out, error)], COMMAND_LINE) from None
    from app.sheets.setting_up_sheet import write_setting_up_sheet

    try:
        write_setting_up_sheet(target, opened.design, paper=paper, today=datetime.date.today())
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    return DONE
