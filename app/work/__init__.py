"""The work in hand: document, readings that follow it, what is picked."""
