"""The command line. Qt is imported only when a window, a sheet or a scan is asked for."""

from __future__ import annotations

import argparse
import sys
from contextlib import suppress
from pathlib import Path
from typing import NoReturn

from app.commands import COMMAND_LINE, DONE, CommandError, must_be_readable, no_screen, one_line, say

COMMANDS = ("readings", "sheet", "check")
_INTERRUPTED = 130

_HELP = """\
Sternpost: trace the side view of a model aeroplane's plan and see where its side area lies
behind the CG, as a part of the tail arm.

  sternpost [DESIGN]                      open the window; a scan (png, jpg, tif) starts a new design
  sternpost readings DESIGN [--json]      print every reading
  sternpost sheet DESIGN -o FILE.pdf [--paper a4|letter]
                                          write the bench sheet, one page
  sternpost check DESIGN                  say what is wrong or missing in the file
  sternpost --version                     print the version
  sternpost --help                        print this

DESIGN is a .sternpost file or a bare design.json with its scans beside it. A file that bears the
name of a command is opened by its path: sternpost ./check

Examples:
  sternpost marsh-harrow-52.sternpost
  sternpost plan.png
  sternpost readings marsh-harrow-52.sternpost
  sternpost readings marsh-harrow-52.sternpost --json > readings.json
  sternpost sheet marsh-harrow-52.sternpost -o bench.pdf --paper letter
  sternpost check marsh-harrow-52.sternpost && echo sound

Exit status: 0 done; 1 the file's content is at fault; 2 the command line is at fault.
Errors are one line on standard error. The figures are hand-book estimates, not proof that an
aeroplane is safe.
"""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise CommandError([f"{self.prog}: {one_line(message)}; “sternpost --help” shows how"], COMMAND_LINE)

    def format_help(self) -> str:
        return _HELP


def _parser(command: str | None) -> _Parser:
    parser = _Parser(prog=f"sternpost {command}" if command else "sternpost", allow_abbrev=False)
    if command is None:
        parser.add_argument("--version", action="store_true")
        parser.add_argument("design", metavar="DESIGN", nargs="?")
        return parser
    parser.add_argument("design", metavar="DESIGN")
    if command == "readings":
        parser.add_argument("--json", action="store_true")
    elif command == "sheet":
        parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
        parser.add_argument("--paper", choices=("a4", "letter"), default="a4")
    return parser


def version() -> str:
    """The version as installed, or as the source tree says."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed("sternpost")
    except PackageNotFoundError:
        import tomllib

        text = (Path(__file__).parent.parent / "pyproject.toml").read_text(encoding="utf-8")
        return str(tomllib.loads(text)["project"]["version"])


def main(argv: list[str] | None = None) -> int:
    """Run the command line ``argv`` (without the program's name); returns the exit status."""
    arguments = sys.argv[1:] if argv is None else argv
    for stream in (sys.stdout, sys.stderr):
        # A sign that the terminal cannot show must not end in a traceback.
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    try:
        return _run(arguments)
    except CommandError as error:
        say(error.lines, sys.stderr)
        return error.status
    except SystemExit:  # argparse, once it has printed its help
        return DONE
    except KeyboardInterrupt:
        return _INTERRUPTED
    except MemoryError:
        say(["sternpost: there is not enough memory for this file; close other programs"], sys.stderr)
        return COMMAND_LINE


def _run(arguments: list[str]) -> int:
    from app import commands

    command = arguments[0] if arguments and arguments[0] in COMMANDS else None
    parser = _parser(command)
    given, rest = parser.parse_known_args(arguments[1:] if command else arguments)
    if rest:
        more = "" if command else f" (the commands are {', '.join(COMMANDS)})"
        parser.error(f"found {rest[0]!r}, which has no place here{more}")
    if command == "readings":
        return commands.print_readings(given.design, as_json=given.json)
    if command == "sheet":
        return commands.write_sheet(given.design, given.output, given.paper)
    if command == "check":
        return commands.check(given.design)
    if given.version:
        say([f"sternpost {version()}"])
        return DONE
    return _open_window(given.design)


def _open_window(design: str | None) -> int:
    if design is not None:
        must_be_readable(design)
    if no_screen():
        raise CommandError(
            ["sternpost: there is no screen to open a window on; use the commands readings, sheet or check"],
            COMMAND_LINE,
        )
    from app.window import run

    return run(None if design is None else Path(design))


if __name__ == "__main__":
    sys.exit(main())
