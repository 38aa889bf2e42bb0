"""Side area, surfaces, balance, yaw and pitch, and the readings that they make together."""
