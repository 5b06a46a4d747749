"""Cuts the passes of a raster all in one direction."""
