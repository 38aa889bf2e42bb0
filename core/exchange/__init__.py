"""Outlines and readings in the files of other programs, written and read back; no screen needed."""
