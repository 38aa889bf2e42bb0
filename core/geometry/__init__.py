"""Plane geometry in millimetres: nodes and cubic edges, areas, unions, slices. Knows no aeroplane."""
