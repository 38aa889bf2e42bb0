"""Materials: everybody's table, the builder's own before it, and the density of a sheet that was weighed."""

from __future__ import annotations

import pytest

from core.design import Design, Material
from core.materials import WOODS
from core.parts.materials import density_of_sheet, material_of, materials

OWN = Design(
    format=1, title="Wood",
    materials=(Material("mine", "Sheet from the loft", 117.0), Material("spruce", "", 455.0)),
)


def test_the_builders_own_comes_first() -> None:
    assert material_of(OWN, "mine").kg_m3 == 117.0
    assert material_of(OWN, "mine").label == "Sheet from the loft"
    assert material_of(OWN, "spruce").kg_m3 == 455.0
    assert material_of(OWN, "balsa-light") is WOODS["balsa-light"]


def test_unknown_material() -> None:
    with pytest.raises(KeyError):
        material_of(OWN, "mahogany")


def test_each_material_is_listed_once() -> None:
    found = materials(OWN)
    assert [wood.id for wood in found] == [*WOODS, "mine"]
    assert {wood.id: wood.kg_m3 for wood in found}["spruce"] == 455.0
    assert materials(Design(format=1, title="None of my own")) == tuple(WOODS.values())


def test_a_weighed_sheet() -> None:
    # 1000 × 100 × 2 mm is a fifth of a litre: 32 g of it are 160 g to the litre, 160 kg/m³.
    assert density_of_sheet(32.0, 1000.0, 100.0, 2.0) == pytest.approx(160.0)
    with pytest.raises(ValueError, match="no density"):
        density_of_sheet(32.0, 1000.0, 0.0, 2.0)
