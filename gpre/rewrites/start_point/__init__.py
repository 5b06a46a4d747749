"""Starts a closed contour where an axis turns anyway."""
