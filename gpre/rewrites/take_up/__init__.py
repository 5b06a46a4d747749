"""Puts the backlash into the coordinates: what it plans, how it cuts moves, how it writes them."""
