"""The command that writes the setting-up sheet. Exit statuses and errors as in ``app.cli.commands``."""

from __future__ import annotations

import datetime

from app.cli.commands import COMMAND_LINE, DONE, CommandError, _opened, one_line, pdf_target
from app.paper.ink import Paper
from core.design_file import DesignFileError


def write_setting_up(name: str, out: str, paper: Paper) -> int:
    """Write the setting-up sheet of the design in ``name`` to the PDF ``out``."""
    opened = _opened(name)
    target = pdf_target(name, out)
    from app.paper.setting_up_sheet import write_setting_up_sheet

    try:
        write_setting_up_sheet(target, opened.design, paper=paper, today=datetime.date.today())
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    return DONE
