"""Plane geometry of venues: polygons, grids and crossings. Pure: no Django, no Scene."""
