"""Scans: opening them, placing them, and drawing them under the outlines."""
