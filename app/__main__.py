"""The command line. Qt is imported only when a window, a sheet or a scan is asked for."""

from __future__ import annotations

import argparse
import sys
from contextlib import suppress
from pathlib import Path
from typing import NoReturn

from app.cli.commands import COMMAND_LINE, CONTENT, DONE, CommandError, must_be_readable, one_line, say
from app.kit.screen import no_screen
from core.geometry.overlay import OverlayError

COMMANDS = (
    "readings", "sheet", "check", "refit", "plug", "compare", "export", "import", "template", "card",
    "setting-up",
)
# What follows these is a figure, though it may begin with a minus: "-1.5 in".
_FIGURES = ("--length", "--at", "--to", "--cn-beta")
_INTERRUPTED = 130

_HELP = """\
Sternpost: trace the side view of a model aeroplane's plan and see where its side area lies
behind the CG, as a part of the tail arm.

  sternpost [DESIGN]                      open the window; a scan (png, jpg, tif, pdf) starts a new design
  sternpost readings DESIGN [--json]      print every reading
  sternpost sheet DESIGN -o FILE.pdf [--paper a4|letter]
                                          write the bench sheet, one page
  sternpost setting-up DESIGN -o FILE.pdf [--paper a4|letter]
                                          write the setting-up sheet: incidence, strings, throws,
                                          linkages, weighing
  sternpost check DESIGN                  say what is wrong or missing in the file
  sternpost refit DESIGN --by WAY [--to 0.25] [--cn-beta 0.06] [--length MM] -o NEW
                                          bring the CLA fraction to the aim (or --to), or Cnβ to a value;
                                          WAY: scale, height, chord, arm, dorsal, ventral, cg
  sternpost plug DESIGN --at 180 --length 35 [--keep front|aft] -o NEW
                                          let in (below 0: take out) a length of fuselage at a station
  sternpost compare A B [--json]          set the readings of two designs side by side
  sternpost card DESIGN -o FILE.pdf [--paper a4|a3|letter|tabloid] [--scale fit|4]
                                          write the card copy: pieces to cut, glue and hang; 4 is 1:4
  sternpost export DESIGN --to svg|dxf|csv|png|svg-picture -o FILE
                                          svg, dxf: the outlines at full size, true curves; csv: the
                                          readings; png, svg-picture: a picture of the profile
  sternpost import FILE -o NEW [--kind fin] [--mm-per-unit 1]
                                          begin a design with the outlines of a drawing (svg, dxf)
  sternpost template DESIGN -o FILE.pdf [--outline ID ...] [--paper a4|a3|letter|tabloid|roll:WIDTH]
      [--landscape] [--scale 1] [--overlap 10] [--margin 8] [--mirror] [--beside ALTERNATIVE-ID]
      [--line outer|inner|middle]         outlines full size over as many pages as it takes, to cut from;
                                          --line: which edge of the drawn line is the true outline
  sternpost --version                     print the version
  sternpost --help                        print this

DESIGN is a .sternpost file or a bare design.json with its scans beside it. A file that bears the
name of a command is opened by its path: sternpost ./check
NEW is written with the scans of DESIGN. Lengths take a unit ("1 3/8 in"); without one they are mm.

Examples:
  sternpost marsh-harrow-52.sternpost
  sternpost plan.png
  sternpost readings marsh-harrow-52.sternpost
  sternpost readings marsh-harrow-52.sternpost --json > readings.json
  sternpost sheet marsh-harrow-52.sternpost -o bench.pdf --paper letter
  sternpost check marsh-harrow-52.sternpost && echo sound
  sternpost plug marsh-harrow-52.sternpost --at 180 --length 35 -o longer.sternpost
  sternpost refit longer.sternpost --by height -o refitted.sternpost
  sternpost compare marsh-harrow-52.sternpost refitted.sternpost
  sternpost export marsh-harrow-52.sternpost --to svg -o harrow.svg
  sternpost template marsh-harrow-52.sternpost -o tail.pdf --outline fin rudder --paper letter

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
    if command == "compare":
        parser.add_argument("design", metavar="A")
        parser.add_argument("other", metavar="B")
        parser.add_argument("--json", action="store_true")
        return parser
    parser.add_argument("design", metavar="FILE" if command == "import" else "DESIGN")
    if command == "readings":
        parser.add_argument("--json", action="store_true")
    elif command in ("sheet", "setting-up"):
        parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
        parser.add_argument("--paper", choices=("a4", "letter"), default="a4")
    elif command == "refit":
        from core.redesign.refit_ways import WAYS

        parser.add_argument("--by", choices=WAYS, required=True)
        parser.add_argument("--to", metavar="FRACTION")
        parser.add_argument("--cn-beta", metavar="VALUE")
        parser.add_argument("--length", metavar="LENGTH")
        parser.add_argument("-o", "--output", metavar="NEW", required=True)
    elif command == "plug":
        parser.add_argument("--at", metavar="STATION", required=True)
        parser.add_argument("--length", metavar="LENGTH", required=True)
        parser.add_argument("--keep", choices=("front", "aft"))
        parser.add_argument("-o", "--output", metavar="NEW", required=True)
    elif command == "card":
        from app.cli.card import PAPER_NAMES

        parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
        parser.add_argument("--paper", choices=PAPER_NAMES, default="a4")
        parser.add_argument("--scale", metavar="fit|N", default="fit")
    elif command == "export":
        from app.paper.exchange import EXPORTS

        parser.add_argument("--to", choices=EXPORTS, required=True)
        parser.add_argument("-o", "--output", metavar="FILE", required=True)
    elif command == "template":
        from app.cli.template import LINE_NAMES

        parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
        parser.add_argument("--outline", metavar="ID", nargs="+", action="extend")
        parser.add_argument("--paper", metavar="PAPER", default="a4")
        parser.add_argument("--landscape", action="store_true")
        parser.add_argument("--scale", metavar="SCALE", default="1")
        parser.add_argument("--overlap", metavar="LENGTH", default="10")
        parser.add_argument("--margin", metavar="LENGTH", default="8")
        parser.add_argument("--mirror", action="store_true")
        parser.add_argument("--beside", metavar="ALTERNATIVE-ID")
        parser.add_argument("--line", choices=LINE_NAMES, default="outer")
    elif command == "import":
        parser.add_argument("--kind", metavar="KIND")
        parser.add_argument("--mm-per-unit", metavar="MM")
        parser.add_argument("-o", "--output", metavar="NEW", required=True)
    return parser


def _figures_joined(arguments: list[str]) -> list[str]:
    """The arguments with every figure written to its option: "--length=-1.5 in"."""
    joined: list[str] = []
    for word in arguments:
        if joined and joined[-1] in _FIGURES:
            joined[-1] += f"={word}"
        else:
            joined.append(word)
    return joined


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
    except OverlayError as error:
        say([f"sternpost: {one_line(str(error))}"], sys.stderr)
        return CONTENT
    except MemoryError:
        say(["sternpost: there is not enough memory for this file; close other programs"], sys.stderr)
        return COMMAND_LINE


def _run(arguments: list[str]) -> int:
    from app.cli import commands

    command = arguments[0] if arguments and arguments[0] in COMMANDS else None
    parser = _parser(command)
    words = arguments[1:] if command else arguments
    given, rest = parser.parse_known_args(
        _figures_joined(words) if command in ("refit", "plug") else words
    )
    if rest:
        more = "" if command else f" (the commands are {', '.join(COMMANDS)})"
        parser.error(f"found {rest[0]!r}, which has no place here{more}")
    if command == "readings":
        return commands.print_readings(given.design, as_json=given.json)
    if command == "sheet":
        return commands.write_sheet(given.design, given.output, given.paper)
    if command == "setting-up":
        from app.cli.setting_up import write_setting_up

        return write_setting_up(given.design, given.output, given.paper)
    if command == "check":
        return commands.check(given.design)
    if command in ("refit", "plug", "compare"):
        from app.cli import redesign

        if command == "refit":
            return redesign.refit_design(
                given.design, given.by, given.to, given.cn_beta, given.length, given.output
            )
        if command == "plug":
            return redesign.plug_design(given.design, given.at, given.length, given.keep, given.output)
        return redesign.compare(given.design, given.other, as_json=given.json)
    if command == "card":
        from app.cli.card import write_card_copy

        return write_card_copy(given.design, given.output, given.paper, given.scale)
    if command == "template":
        from app.cli.template import words_of, write_template

        return write_template(given.design, given.output, words_of(given))
    if command in ("export", "import"):
        from app.cli import exchange

        if command == "export":
            return exchange.export(given.design, given.to, given.output)
        return exchange.import_outlines(given.design, given.output, given.kind, given.mm_per_unit)
    if given.version:
        say([f"sternpost {version()}"])
        return DONE
    return _open_window(given.design)


def _open_window(design: str | None) -> int:
    if design is not None:
        must_be_readable(design)
    if no_screen():
        raise CommandError(
            [f"sternpost: there is no screen to open a window on; use a command: {', '.join(COMMANDS)}"],
            COMMAND_LINE,
        )
    from app.window.window import run

    return run(None if design is None else Path(design))


if __name__ == "__main__":
    sys.exit(main())
