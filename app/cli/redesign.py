"""The commands that change a design without a window, or set two side by side: refit, plug, compare.

Exit statuses and errors as in ``app.cli.commands``. A bare length is in millimetres, whatever the design
shows.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar, cast

from app.cli.commands import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    _aligned,
    _not_usable,
    _opened,
    answer_lines,
    one_line,
    say,
)
from app.kit.sentences import as_sentence
from core.design import Design
from core.design_file import DesignFile, DesignFileError, write
from core.redesign.alternatives import Difference
from core.redesign.alternatives import compare as differences
from core.redesign.outline_edits import EditError
from core.redesign.plug import Keep, plug_preview
from core.redesign.probe import Target
from core.redesign.refit import refit
from core.redesign.refit_ways import WayKey
from core.stability.answer import FIRM_CN_BETA
from core.stability.wording import shown
from core.units import MISSING, UnitError, parse_fraction, parse_length, parse_number

Value = TypeVar("Value")


def refit_design(
    name: str, by: str, to: str | None, cn_beta: str | None, length: str | None, out: str
) -> int:
    """Write to ``out`` the design in ``name`` with its CLA fraction brought to ``to`` (the aim where it
    is None), or its Cnβ to ``cn_beta``, by the way ``by``; both given: the fraction at ``to`` and Cnβ at
    least that. Says the answer of the result. Exit 1, nothing written, where that cannot be.
    """
    if length is not None and by not in ("dorsal", "ventral"):
        raise CommandError(
            ["sternpost refit: --length is that of a dorsal or ventral fin; leave it out"], COMMAND_LINE
        )
    target: Target = "cla_fraction" if cn_beta is None else "cn_beta" if to is None else "both"
    wanted: float | None = None
    firm = FIRM_CN_BETA
    if to is not None:
        wanted = _parsed("refit", "--to", to, parse_fraction)
    if cn_beta is not None:
        firm = _parsed(
            "refit", "--cn-beta", cn_beta, lambda t: parse_number(t, low=-1.0, high=1.0, what="Cnβ")
        )
        wanted = firm if wanted is None else wanted
    long = None if length is None else _length("refit", "--length", length)
    opened = _opened(name)
    if wanted is None:
        wanted = opened.design.aim.cla_fraction
    try:
        found = refit(opened.design, cast(WayKey, by), target, wanted, firm=firm, length=long)
    except EditError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    if not found.solved:
        raise CommandError([f"{one_line(name)}: {one_line(found.words[0])}"], CONTENT)
    _write(out, opened, found.design)
    say([
        *map(one_line, found.words), *(f"Caution: {one_line(words)}" for words in found.cautions), "",
        f"The answer would be: {found.answer.state}.", *map(one_line, answer_lines(found.answer)),
    ])
    if found.answer.state == "stop":
        say([f"{one_line(out)}: do not fly it so. {one_line(found.answer.meaning)}"], sys.stderr)
    return DONE


def plug_design(name: str, at: str, length: str, keep: str | None, out: str) -> int:
    """Write to ``out`` the design in ``name`` with ``length`` let in (below 0: taken out) at ``at``."""
    station, long = _length("plug", "--at", at), _length("plug", "--length", length)
    if long == 0.0:
        raise CommandError(
            ["sternpost plug: --length 0 changes nothing; give how much to let in, below 0 to take out"],
            COMMAND_LINE,
        )
    opened = _opened(name)
    found = plug_preview(opened.design, station, long, keep=cast("Keep | None", keep))
    if isinstance(found, str):
        raise CommandError([f"{one_line(name)}: {one_line(found)}"], CONTENT)
    _write(out, opened, found.design)
    say(map(one_line, found.words))
    return DONE


def compare(one: str, other: str, *, as_json: bool) -> int:
    """All readings of two designs side by side, with their differences (the second less the first)."""
    a, b = _opened(one).design, _opened(other).design
    table = differences(a, b)
    if as_json:
        utf = (getattr(sys.stdout, "encoding", "") or "").lower().startswith("utf")
        say([json.dumps(comparison(a, b, table), indent=2, ensure_ascii=not utf, allow_nan=False)])
        return DONE
    units = a.display_units

    def text(row: Difference, value: float | None, *, signed: bool = False) -> str:
        return MISSING if value is None else shown(row.spec, value, units, signed=signed)

    rows: list[tuple[str, ...]] = [("", "A", "B", "difference")]
    rows += [
        (row.spec.label, text(row, row.a), text(row, row.b), text(row, row.difference, signed=True))
        for row in table
    ]
    say([
        f"A  {one_line(a.title) or 'Untitled'} ({one_line(one)})",
        f"B  {one_line(b.title) or 'Untitled'} ({one_line(other)})",
        "", *_aligned(rows, "lrrr"),
    ])
    return DONE


def comparison(a: Design, b: Design, table: list[Difference]) -> dict[str, object]:
    """What ``compare --json`` prints: lengths in mm, areas in mm2, fractions as parts of 1."""
    return {
        "titles": {"a": a.title, "b": b.title},
        "readings": {
            row.spec.key: {
                "unit": row.spec.unit, "a": row.a, "b": row.b, "difference": row.difference,
            }
            for row in table
        },
    }


def _length(command: str, option: str, text: str) -> float:
    return _parsed(command, option, text, lambda t: parse_length(t, "mm"))


def _parsed(command: str, option: str, text: str, parse: Callable[[str], Value]) -> Value:
    try:
        return parse(text)
    except UnitError as error:
        raise CommandError([f"sternpost {command}: {option}: {one_line(str(error))}"], COMMAND_LINE) from None


def _write(out: str, opened: DesignFile, design: Design) -> None:
    try:
        target = Path(out)
        if target.is_dir():
            raise CommandError([f"{one_line(out)}: this is a folder; name a file in it"], COMMAND_LINE)
        write(target, design, opened.pictures)
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    except (OSError, ValueError) as error:
        raise CommandError([_not_usable(out, error)], COMMAND_LINE) from None
    # A scan that could not be read is not in the new file either: say so, though the rest is done.
    say([f"{one_line(as_sentence(trouble))}" for trouble in opened.troubles], sys.stderr)
