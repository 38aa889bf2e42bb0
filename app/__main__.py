"""The command line. Qt is imported only when a window, a sheet or a scan is asked for."""

from __future__ import annotations

import argparse
import os
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from traceback import extract_tb

from app.cli.common import COMMAND_LINE, CONTENT, DONE, CommandError, Parser, must_be_readable, one_line, say
from app.kit.screen import no_screen
from core.geometry.overlay import OverlayError

# The module of each command, imported when it is asked for.
COMMANDS = {
    "readings": "readings", "sheet": "sheet", "check": "check", "refit": "refit", "plug": "plug",
    "compare": "compare", "export": "export", "import": "import_drawing", "template": "template",
    "card": "card", "setting-up": "setting_up", "gauges": "gauges", "parts": "parts",
}
_INTERRUPTED = 130
_UNFORESEEN = 70
"""As the system's own list of exit statuses has it for a fault of the program."""

_HELP = """\
Sternpost: trace the side view of a model aeroplane's plan and see where its side area lies
behind the CG, as a part of the tail arm.

  sternpost [DESIGN]                      open the window; a scan (png, jpg, tif, pdf, heic, avif, jp2,
                                          webp) starts a new design
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
  sternpost card DESIGN -o FILE.pdf [--paper a4|a3|letter|tabloid] [--scale fit|4] [--tiled]
                                          write the card copy: pieces to cut, glue and hang; 4 is 1:4
  sternpost export DESIGN --to svg|dxf|csv|png|svg-picture -o FILE [--decimal point|comma]
                                          svg, dxf: the outlines at full size, true curves; csv: the
                                          readings, with --decimal comma for spreadsheets that write
                                          2,5; png, svg-picture: a picture of the profile
  sternpost export DESIGN --to svg|dxf --parts -o FILE [--kerf MM]
                                          the parts of all builds, apart from each other, for a laser or
                                          a knife; --kerf: what the cut takes away
  sternpost gauges DESIGN -o FILE.pdf [--paper a4|letter]
                                          write gauges to print and cut: incidence, throws
  sternpost import FILE -o NEW [--kind fin] [--mm-per-unit 1] [--count N] [--count ID=N ...] [--hidden]
                                          begin a design with the outlines of a drawing (svg, dxf);
                                          --count: how often those come of which it does not say it;
                                          --hidden: what is switched off or frozen in it too
  sternpost template DESIGN -o FILE.pdf [--outline ID ...] [--paper a4|a3|letter|tabloid|roll:WIDTH]
      [--landscape|--portrait] [--turn auto|DEGREES] [--blank needed|all|none] [--scale 1] [--overlap 10]
      [--margin 8] [--mirror] [--beside ALTERNATIVE-ID] [--line outer|inner|middle]
                                          outlines full size over as few pages as it takes, to cut from;
                                          --blank: pages with nothing to cut that hold others together;
                                          --line: which edge of the drawn line is the true outline
  sternpost parts DESIGN [--json] [-o FILE.pdf] [--paper a4|a3|letter|tabloid]
      [--beside ALTERNATIVE-ID]           the parts of surfaces that have a build: what to cut and buy, what
                                          they weigh; -o: every part full size, with the cutting list
  sternpost --version                     print the version
  sternpost --help                        print this

DESIGN is a .sternpost file or a bare design.json with its scans beside it. A file that bears the
name of a command is opened by its path: sternpost ./check
NEW is written with the scans of DESIGN. Lengths take a unit ("1 3/8 in"); without one they are mm.
What is written bears its own ending, and replaces no file of another kind.

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
    # Qt puts the fonts of a PDF in the order of its hashes: by lot, unless it is told before it starts.
    os.environ.setdefault("QT_HASH_SEED", "0")
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
    except Exception as error:
        # In one sentence what it means for whoever asked; beneath it what helps to mend it.
        what, places = one_line(f"{type(error).__name__}: {error}"), extract_tb(error.__traceback__)
        say([
            f"sternpost: this failed in a way that nobody foresaw ({what}); where it did:",
            *(f"  {Path(at.filename).name}, line {at.lineno}, {at.name}" for at in places),
        ], sys.stderr)
        return _UNFORESEEN


def _run(arguments: list[str]) -> int:
    if arguments and arguments[0] in COMMANDS:
        parser = Parser(f"sternpost {arguments[0]}", _HELP)
        import_module(f"app.cli.{COMMANDS[arguments[0]]}").add(parser)
        given = parser.parse(arguments[1:])
    else:
        parser = Parser("sternpost", _HELP)
        parser.add_argument("--version", action="store_true")
        parser.add_argument("design", metavar="DESIGN", nargs="?")
        parser.set_defaults(run=_window_or_version)
        given = parser.parse(arguments, f" (the commands are {', '.join(COMMANDS)})")
    status: int = given.run(given)
    return status


def _window_or_version(given: argparse.Namespace) -> int:
    if given.version:
        say([f"sternpost {version()}"])
        return DONE
    if given.design is not None:
        must_be_readable(given.design)
    if no_screen():
        raise CommandError(
            [f"sternpost: there is no screen to open a window on; use a command: {', '.join(COMMANDS)}"],
            COMMAND_LINE,
        )
    from app.window.running import run

    return run(None if given.design is None else Path(given.design))


if __name__ == "__main__":
    sys.exit(main())
