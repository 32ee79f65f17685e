"""Surveyed points to a surface, and the surface to a table of voids by zone and level."""
