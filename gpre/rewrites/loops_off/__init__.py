"""Loops over the part in which an axis turns clear of a wall: `lift-over`, `corner-loop`."""
