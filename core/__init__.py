"""What Sternpost knows about aeroplanes. No screen, no Qt: see DEVELOPERS.md for what may import what."""
