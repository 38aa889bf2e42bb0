"""What a builder is told beside the figures: in the window, on the sheets, in the README."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "These are hand-book estimates for deciding where to cut, not proof that an aeroplane is safe.",
    "Before flying, check the CG, the direction of every control and the radio's range on the ground.",
    "Make first flights well away from people, animals, roads and buildings.",
    "Follow the safety code of your national model-flying body and the law of the place.",
    "Where flying needs a licence, a test or a registration, hold it before you fly.",
)

IN_SHORT = "Estimates for where to cut, no proof that it is safe. Before you fly: CG, controls, range."
"""What stands under the answer wherever the window shows it."""

WORKSHOP: tuple[str, ...] = (
    "A structure drawn by rule of thumb has not been calculated for strength.",
    "Blades slip: cut away from yourself, the other hand behind the blade.",
    "Saw dust, laser fumes and cyanoacrylate harm lungs and eyes: fresh air, mask and goggles.",
)
"""What is told beside parts to be cut, whatever they are cut with."""
