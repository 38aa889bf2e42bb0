"""Stability in yaw and roll: fin, body, propeller, the whole range of slips, the seconds after a gust."""
