"""Plane geometry values: regions bounded by polygons, and paths of lines and circular arcs.

Nothing here knows what a plaque or a pocket is. Apart from ``check``, only this package imports shapely.
"""
