"""Removes turns smaller than the tolerance from chains of short moves."""
