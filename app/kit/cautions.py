"""What a builder is told beside the figures: in the window, on the sheets, in the README."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "These are hand-book estimates for deciding where to cut, not proof that an aeroplane is safe.",
    "Before flying, check the CG, the direction of every control and the radio's range on the ground.",
    "Make first flights well away from people, animals, roads and buildings.",
    "Follow the safety code of your national model-flying body and the law of the place.",
    "Where flying needs a licence, a test or a registration, hold it before you fly.",
)
