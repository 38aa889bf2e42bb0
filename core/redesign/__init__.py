"""Edits: pure functions from one design to the next."""
