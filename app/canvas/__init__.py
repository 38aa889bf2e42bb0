"""The canvas over the plan, the arm rule and the area band, and the hands that work on them."""
