"""The window: which part sits where, and which entry calls what. No logic of its own."""
