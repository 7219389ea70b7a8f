"""Plane geometry values: regions bounded by polygons, and paths of lines and circular arcs.

Nothing here knows what a plaque or a pocket is. Apart from ``check``, only this room imports shapely.

- ``region``: ``Region``, polygons with holes, and what can be done with them; ``lines``, ``sweeps``, ``discs``,
  ``contacts`` and ``necks`` for what takes more than one operation
- ``arcs``: ``ArcPath``, a path of lines and arcs; ``outlines``: those of boards
- ``medial``: the axis of a region; ``strokes``: its chains with their widths
- ``grid``: a region as pixels and back; ``crossings``: which of many pieces meet
- ``arrays``: records and rows of different lengths in arrays
"""
