"""The three sample aeroplanes as they truly are: what the scans were drawn from.

``TRUE_PLANS[slug].outlines`` are the true outlines (mm) and ``.mm_to_px`` / ``.px_to_mm`` the true
matrices between plan and scan, so that a trace can be compared with the drawn line.
"""

from __future__ import annotations

from long_meadow import LONG_MEADOW
from marsh_harrow import MARSH_HARROW
from plan_parts import Plan
from tallow_twin import TALLOW_TWIN

TRUE_PLANS: dict[str, Plan] = {plan.slug: plan for plan in (MARSH_HARROW, TALLOW_TWIN, LONG_MEADOW)}
