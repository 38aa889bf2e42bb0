"""The air behind and ahead of the wing: downwash at the tailplane, and at the body by strips."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.geometry.memo import kept
from core.geometry.patch import Patch
from core.geometry.ring import Array
from core.stability.surfaces import SurfaceForm, lift_slope

TAIL_NOT_BEHIND = "the tailplane does not lie behind the wing: the handbook's downwash does not reach it"
TAIL_TOO_NEAR = "the tailplane stands too close behind the wing for the handbook's downwash"
_SLICES = 400


def downwash_slope(
    aspect_ratio: float, taper: float, sweep_quarter_deg: float, arm: float, height: float, span: float
) -> float | str:
    """dε/dα at the tailplane, or the reason why there is none.

    4.44 [K_A K_λ K_H √cos Λ_c/4]^1.19 with K_A = 1/A − 1/(1 + A^1.7), K_λ = (10 − 3λ)/7,
    K_H = (1 − |h/b|)/(2 l_h/b)^(1/3). ``taper`` λ is tip chord over root chord, ``arm`` l_h from
    the wing's to the tailplane's quarter chord of MAC, ``height`` h between the two, ``span`` b;
    the last three in one unit. Range: low speed, tailplane behind the wing by half its chord or more; a
    result over 1 is refused. Zero where the tailplane stands a whole span above or below.
    Source: USAF Stability and Control Datcom (read).
    """
    if not (aspect_ratio > 0.0 and span > 0.0):
        return "give the wing a span and chords greater than zero"
    if not arm > 1e-6 * span:
        return TAIL_NOT_BEHIND
    k_aspect = 1.0 / aspect_ratio - 1.0 / (1.0 + aspect_ratio**1.7)
    k_taper = (10.0 - 3.0 * taper) / 7.0
    k_height = max(1.0 - abs(height / span), 0.0) / (2.0 * arm / span) ** (1.0 / 3.0)
    sweep = math.sqrt(max(math.cos(math.radians(sweep_quarter_deg)), 0.0))
    slope = 4.44 * max(k_aspect * k_taper * k_height * sweep, 0.0) ** 1.19
    return slope if slope <= 1.0 else TAIL_TOO_NEAR


def tail_downwash(wing: SurfaceForm, tailplane: SurfaceForm) -> float | str:
    """``downwash_slope`` between two planforms; the taper of a wing without root chord is taken as 1."""
    taper = wing.tip_chord / wing.root_chord if wing.root_chord > 0.0 else 1.0
    return downwash_slope(
        wing.aspect_ratio, min(taper, 2.0), wing.sweep_quarter_deg,
        tailplane.quarter_chord_x - wing.quarter_chord_x,
        tailplane.quarter_chord_z - wing.quarter_chord_z, wing.span,
    )


def flow_slope(x: Array, wing: SurfaceForm, tail_x: float, downwash: float) -> Array:
    """dβ/dα, how much the air along the body turns per turn of the body, at each of ``x`` (K,) in mm.

    Ahead of the wing's root 1 + (a_w/2π) c/(2ξ), ξ being the distance ahead of the root's quarter
    chord and c the root chord; 0 along the root chord; from the trailing edge it rises straight to
    1 − dε/dα at the tailplane's quarter chord ``tail_x``, and keeps that behind it. Source:
    Multhopp's strips (NACA TM 1036, 1942; memory).
    """
    chord = wing.root_chord
    leading, trailing = wing.root_le_x, wing.root_le_x + chord
    ahead = np.maximum(leading + 0.25 * chord - x, 0.25 * chord + 1e-9)
    upwash = 1.0 + lift_slope(wing.aspect_ratio, wing.sweep_half_deg) / (2 * math.pi) * chord / (2 * ahead)
    run = tail_x - trailing
    rise = np.clip((x - trailing) / run, 0.0, 1.0) if run > 0.0 else np.ones_like(x)
    behind = (1.0 - downwash) * rise
    return np.asarray(np.where(x < leading, upwash, np.where(x > trailing, behind, 0.0)))


@dataclass(frozen=True, eq=False)
class _Profile:
    x: Array
    depth: Array
    step: float


def body_couple(patch: Patch, width: float, wing: SurfaceForm, tail_x: float, downwash: float) -> float:
    """(∂M/∂α)/q of one body in mm³ per radian, nose up positive: ∫ (π/2) w² (dβ/dα) dx.

    w(x) = ``width`` × depth(x)/greatest depth, in mm: the body is as wide there as its side view is
    deep. 400 vertical slices. Range: slender bodies, small angles. Source: Multhopp (memory).
    """
    profile = _profile(patch)
    if profile is None:
        return 0.0
    w = width * profile.depth
    slope = flow_slope(profile.x, wing, tail_x, downwash)
    return float((0.5 * math.pi * w * w * slope).sum()) * profile.step


@kept
def _profile(patch: Patch) -> _Profile | None:
    low, _, high, _ = patch.box
    step = (high - low) / _SLICES
    if not step > 0.0:
        return None
    x: Array = np.asarray(low + (np.arange(_SLICES) + 0.5) * step, dtype=np.float64)
    depth = patch.depths(x)
    most = float(depth.max())
    return _Profile(x, depth / most, step) if most > 0.0 else None
