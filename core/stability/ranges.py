"""The ranges and limits that readings are shown with, judged by and printed with: each stands here once."""

from __future__ import annotations

FIN_VOLUME = (0.02, 0.05)
"""Drela, MIT Unified Engineering notes, 2006 (memory)."""
TAILPLANE_VOLUME = (0.30, 0.60)
"""Drela, MIT Unified Engineering notes, 2006 (memory)."""
CN_BETA = (0.03, 0.15)
"""Per radian: light aeroplanes 0.06–0.12 (memory), plausible models 0.03–0.13 (no source)."""
FIN_BAND = 0.1
"""How far the fin's part of Cnβ may lie outside its two witnesses, up and down (own choice)."""
FIN_BAND_ALONE = 0.2
"""The same where one of the two witnesses cannot be heard (common practice: methods differ by a third)."""
WING_SIDEWASH = (0.7, 1.3)
"""Within which the wing's part of the sidewash is kept."""
TAIL_PRESSURE = 0.95
"""Dynamic pressure at the tail over that of the flight (own choice; handbooks use 0.9 to 1)."""
SIDEWASH = (0.6, 1.4)
"""Within which the sidewash factor is kept."""
STATIC_MARGIN = (0.05, 0.15)
"""Of sport models (common practice, no source)."""
SAFE_MARGIN = STATIC_MARGIN[0]
"""What is aimed at where the CG lies too far aft."""
STABLE, EASILY_HELD = 5.0, 3.0
"""Spiral parameter above the first: stable; to the second: easily held; less diverges (Drela, memory)."""
ROLL_COUPLING = (0.10, 0.20)
"""V_v B for flying on the rudder alone (Drela, memory)."""
LITTLE_DEG, LOOSE_DEG, LOOSE_CN_BETA = 10.0, 30.0, 0.05
"""Limits of the sideslip held by full rudder (common practice)."""
TYPED_MM, GUESSED_MM = 3.0, 10.0
"""One standard deviation of a wing's or tailplane's height or thickness as typed, and while it stands as
the program put it (common practice, no source)."""
MOST_LIFT = 1.4
"""A lift coefficient that a model's plain wing seldom exceeds (common practice, no source)."""


def span_words(limits: tuple[float, float], places: int = 2) -> str:
    """Both limits as they are printed: "0.02–0.05"."""
    return "–".join(f"{limit:.{places}f}" for limit in limits)
