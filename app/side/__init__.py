"""Windows beside the window: refit, plug, comparison, curves, templates, card copy, setting up."""
