"""Cuts a helix down in fewer turns."""
