"""The panels around the canvas, one file each."""
