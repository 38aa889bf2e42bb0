"""Windows of the redesign loop: plug, refit, kept states side by side, curves."""
