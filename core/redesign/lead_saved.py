"""What lead in the nose a change saves, in words."""

from __future__ import annotations

from core.design import Design
from core.redesign.refit import lead_needed
from core.units import format_mass

_LEAST_GRAMS = 1.0


def lead_saved_words(before: Design, after: Design) -> str:
    """One sentence on the lead in the nose that ``after`` needs beside ``before``; empty without weights."""
    was, now = lead_needed(before, before), lead_needed(before, after)
    if was is None or now is None:
        return ""
    saved, units = was - now, before.display_units
    if abs(saved) < _LEAST_GRAMS:
        return "By the weights the lead in the nose stays as it is."
    mass = format_mass(abs(saved), units)
    return f"By the weights it {'saves' if saved > 0.0 else 'takes'} {mass} of lead in the nose."
