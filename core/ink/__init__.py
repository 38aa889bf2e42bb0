"""Ink on paper: following drawn lines, finding their middle, and fitting curves to what was found.

Knows grey pictures and points, nothing of aeroplanes. Pixel coordinates are (u right, v down) and
continuous: pixel (i, j) covers [i, i + 1) × [j, j + 1). Grey arrays are uint8, shape (H, W), 0 = black.
"""
