"""Unsaved work kept and offered back, claims on files, recent files, folders."""
