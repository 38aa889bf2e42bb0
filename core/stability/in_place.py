"""Reasons for a missing figure that are answers themselves: "none up to 90°", "over 30°"."""

from __future__ import annotations

_ANSWERS = {
    "none ": "none", "over ": "", "it swaps ends": "swaps ends", "it comes back without wagging": "none",
    "rolling and banking swing together": "none",
}
"""How they begin, and what is shown for them; empty: their first clause."""


def in_place_of(reason: str) -> str:
    """What is shown in place of the figure; empty where the reason is merely one, and no answer."""
    for begin, said in _ANSWERS.items():
        if reason.startswith(begin):
            return said or shortly(reason)
    return ""


def shortly(reason: str) -> str:
    """The first clause of a reason: enough beside a figure."""
    return reason.split(":")[0].split(";")[0]
