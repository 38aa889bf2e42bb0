"""What parts are cut from, and how dense it is."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Wood:
    """A material: what it is called, its density in kg/m³, and where that figure comes from."""

    id: str
    label: str
    kg_m3: float
    source: str


_ROWS = (
    Wood("balsa-light", "Balsa, light", 100.0, "common practice, no source"),
    Wood("balsa-medium", "Balsa, medium", 150.0, "common practice, no source"),
    Wood("balsa-hard", "Balsa, hard", 220.0, "common practice, no source"),
    Wood("balsa", "Balsa, average", 160.0, "Wood Handbook, Forest Products Laboratory; from memory"),
    Wood("spruce", "Spruce", 400.0, "Wood Handbook, Forest Products Laboratory; from memory"),
    Wood("basswood", "Basswood", 370.0, "Wood Handbook, Forest Products Laboratory; from memory"),
    Wood("birch-ply", "Birch ply", 680.0, "Wood Handbook, Forest Products Laboratory; from memory"),
    Wood("foam-expanded", "Expanded foam", 25.0, "from memory"),
    Wood("foam-extruded", "Extruded foam", 33.0, "from memory"),
)
WOODS: dict[str, Wood] = {wood.id: wood for wood in _ROWS}
"""By id, what every builder can get; densities differ from sheet to sheet, so weigh yours."""
