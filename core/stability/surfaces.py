"""Wings and tailplanes as surfaces: area, MAC, sweep, dihedral and lift slope, from their stations.

Stations are joined by straight lines, so every integral over y is exact. All figures are of both
halves. What the stations do not reach is not there: a wing whose first station stands at y > 0 is
taken without its centre section, so the first station of a whole wing belongs on the centreline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.design import LIMIT, LIMIT_WORDS, Tailplane, Wing
from core.geometry.memo import IdentityMemo

NO_WING = "enter the wing"
NO_TAILPLANE = "enter the tailplane"


@dataclass(frozen=True)
class SurfaceForm:
    """Planform of one lifting surface, or of several taken together; mm, mm² and degrees."""

    area: float
    span: float
    mac: float
    mac_le_x: float
    quarter_chord_x: float
    """Of the MAC."""
    quarter_chord_z: float
    aspect_ratio: float
    dihedral_deg: float
    sweep_quarter_deg: float
    """Positive aft."""
    sweep_half_deg: float
    root_chord: float
    tip_chord: float
    root_le_x: float
    root_z: float


_forms: IdentityMemo[SurfaceForm | str] = IdentityMemo(64)
_together: IdentityMemo[SurfaceForm | str] = IdentityMemo(64)


def surface_form(surface: Wing | Tailplane) -> SurfaceForm | str:
    """The planform of ``surface``, or the reason why it has none. Kept by identity.

    S = 2∫c dy, c̄ = (2/S)∫c² dy, x_¼ = (2/S)∫(x_le + c/4) c dy, z_¼ likewise, b = 2 y_tip, A = b²/S.
    Effective dihedral by strips: ∫γ c y dy / ∫c y dy with γ = atan(dz/dy). Sweep of a cranked
    surface: the chord-weighted mean of the tangent. Stations are taken outwards, whatever the
    order in which they were entered. Range: any panels, straight between stations. Source: the
    integrals that define these quantities (exact).
    """
    return _forms.get((surface,), lambda: _form(surface))


def wing_form(wings: tuple[Wing, ...]) -> SurfaceForm | str:
    """The wings taken together, or the reason why there is none.

    Areas add; MAC, quarter chords, dihedral, tangents of sweep, root and tip chords are weighted by
    area; the span is the largest; A = b²/S. Source: the definition of the reference wing in this
    project's physics (a convention; for one wing it is exact).
    """
    return _all(wings, NO_WING)


def tailplane_form(tailplanes: tuple[Tailplane, ...]) -> SurfaceForm | str:
    """The tailplanes taken together as ``wing_form`` takes wings, or why there is none."""
    return _all(tailplanes, NO_TAILPLANE)


def lift_slope(aspect_ratio: float, sweep_half_deg: float = 0.0, kappa: float = 1.0) -> float:
    """dC_L/dα per radian: a = 2πA/(2 + √(4 + (A²/κ²)(1 + tan²Λ_c/2))).

    ``sweep_half_deg`` is the sweep of the half-chord line, ``kappa`` the section's lift slope over
    2π. Range: incompressible, attached flow, small angles; 0 for an aspect ratio not above 0, and
    2πκ cos Λ in the limit of a very large one. Against true lifting surfaces it runs up to 8 % high.
    Source: Polhamus, taken over by the USAF Stability and Control Datcom (memory); with κ = 1 and
    no sweep it is Helmbold's.
    """
    if not aspect_ratio > 0.0 or not kappa > 0.0:
        return 0.0
    sweep = 1.0 / max(abs(math.cos(math.radians(sweep_half_deg))), 1e-9)
    # Divided through by A, so that no aspect ratio is too large for it.
    per = 2.0 / aspect_ratio
    return 2.0 * math.pi / (per + math.hypot(per, sweep / kappa))


def _all(surfaces: Sequence[Wing | Tailplane], none: str) -> SurfaceForm | str:
    if not surfaces:
        return none
    if len(surfaces) == 1:
        return surface_form(surfaces[0])
    return _together.get(tuple(surfaces), lambda: _joined(surfaces))


def _joined(surfaces: Sequence[Wing | Tailplane]) -> SurfaceForm | str:
    forms: list[SurfaceForm] = []
    for surface in surfaces:
        form = surface_form(surface)
        if isinstance(form, str):
            return form
        forms.append(form)
    total = sum(form.area for form in forms)
    span = max(form.span for form in forms)

    def mean(name: str) -> float:
        return float(sum(form.area * getattr(form, name) for form in forms) / total)

    def mean_sweep(name: str) -> float:
        tangent = sum(f.area * math.tan(math.radians(getattr(f, name))) for f in forms) / total
        return math.degrees(math.atan(tangent))

    return SurfaceForm(
        area=total, span=span, mac=mean("mac"), mac_le_x=mean("mac_le_x"),
        quarter_chord_x=mean("quarter_chord_x"), quarter_chord_z=mean("quarter_chord_z"),
        aspect_ratio=span * span / total, dihedral_deg=mean("dihedral_deg"),
        sweep_quarter_deg=mean_sweep("sweep_quarter_deg"),
        sweep_half_deg=mean_sweep("sweep_half_deg"),
        root_chord=mean("root_chord"), tip_chord=mean("tip_chord"),
        root_le_x=mean("root_le_x"), root_z=mean("root_z"),
    )


def _form(surface: Wing | Tailplane) -> SurfaceForm | str:
    what = f'{"wing" if isinstance(surface, Wing) else "tailplane"} "{surface.name}"'
    table = np.array([(s.y, s.le_x, s.chord, s.z) for s in surface.stations], dtype=np.float64)
    if len(table) < 2:
        return f"give the {what} two stations or more"
    if not (np.abs(table) <= LIMIT).all():
        return f"keep the numbers of the {what} within ±{LIMIT_WORDS}"
    if (table[:, 2] < 0.0).any():
        return f"give the {what} chords that are not negative"
    if (table[:, 0] < 0.0).any():
        return f"give the stations of the {what} from the centreline outwards, with y not below 0"
    table = table[np.argsort(table[:, 0], kind="stable")]
    y, le, c, z = table.T
    dy = np.diff(y)
    c0, c1 = c[:-1], c[1:]
    # ∫ of a product of two straight lines over one panel, exactly.
    def over(p: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
        p0, p1 = p[:-1], p[1:]
        return float((dy * (2 * p0 * c0 + p0 * c1 + p1 * c0 + 2 * p1 * c1)).sum() / 6.0)

    half = float((0.5 * dy * (c0 + c1)).sum())
    span = 2.0 * float(y[-1])
    if not half > 1e-6 or not span > 1e-6:
        return f"give the {what} a span and chords greater than zero"
    # Stations nearer than that stand at one y: a step, which has neither sweep nor dihedral.
    run = np.where(dy > 1e-9, dy, 1.0)
    panel = 0.5 * dy * (c0 + c1)
    strip = dy * (2 * y[:-1] * c0 + y[:-1] * c1 + y[1:] * c0 + 2 * y[1:] * c1) / 6.0
    leverage = float(strip.sum())

    def sweep(part: float) -> float:
        slope = np.diff(le + part * c) / run
        return math.degrees(math.atan(float((slope * panel).sum()) / half))

    mac = over(c) / half
    mac_le = over(le) / half
    gamma = np.degrees(np.arctan(np.diff(z) / run))
    return SurfaceForm(
        area=2.0 * half, span=span, mac=mac, mac_le_x=mac_le, quarter_chord_x=mac_le + 0.25 * mac,
        quarter_chord_z=over(z) / half, aspect_ratio=span * span / (2.0 * half),
        dihedral_deg=float((gamma * strip).sum()) / leverage,
        sweep_quarter_deg=sweep(0.25), sweep_half_deg=sweep(0.5),
        root_chord=float(c[0]), tip_chord=float(c[-1]), root_le_x=float(le[0]), root_z=float(z[0]),
    )
