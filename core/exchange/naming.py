"""What a layer or a group is called so that kind, count, stance and id survive any program.

"pylon x2 joined pylon-left - Pylon, left" as the layer of a DXF, "pylon-x2-joined-pylon-left" as the
id of a group in SVG. Other programs drop what is written beside an outline, but keep these; some
turn them into capitals, or blanks into underscores.
"""

from __future__ import annotations

import re

from core.design import MOST_COUNT, Outline
from core.exchange.closed import Named
from core.kinds import KINDS

_LONGEST = 200
"""Of the 255 characters of a layer's name."""
# DXF reference of R2010, symbol table names; the comma besides, which lists of layers are parted by.
_FORBIDDEN = re.compile(r'[<>/\\":;?*|=`,\x00-\x1f\x7f]+')
_GAP = r"[\s_-]+"
_KIND = "|".join(kind.replace(" ", _GAP) for kind in sorted(KINDS, key=len, reverse=True))
_NAMED = re.compile(
    rf"\s*(?P<kind>{_KIND}){_GAP}x(?P<count>[1-{MOST_COUNT}])(?:{_GAP}(?P<stance>joined|clear))?"
    rf"(?:{_GAP}(?P<id>.+?))?(?:[\s_]+-[\s_]+(?P<label>.*))?\s*", re.IGNORECASE,
)


def layer_name(outline: Outline) -> str:
    """The name of the outline's own layer in a DXF."""
    printable = "".join(c if c.isprintable() else " " for c in outline.label)
    label = " ".join(_FORBIDDEN.sub(" ", printable).split())
    name = f"{outline.kind} x{outline.count} {outline.standing} {outline.id[:_LONGEST // 2]}"
    return f"{name} - {label}"[:_LONGEST].rstrip() if label else name


def group_id(outline: Outline) -> str:
    """The id of the outline's group in an SVG: a name of XML, without blanks."""
    return f"{outline.kind.replace(' ', '-')}-x{outline.count}-{outline.standing}-{outline.id}"


def named_by(text: str) -> Named | None:
    """What the name of a layer or group says in our own way; None where it is not in it.

    "wheel x2" is enough: a builder may write it so in another program.
    """
    match = _NAMED.fullmatch(text[:_LONGEST + 100])
    if match is None:
        return None
    words = re.sub(_GAP, " ", match["kind"]).lower()
    label = (match["label"] or "").strip()
    return Named(
        (match["id"] or "").lower(), label, words, match["count"], (match["stance"] or "").lower()
    )
