"""A stencil from a design: its openings, the bridges that hold its islands, and the criterion that it is one piece.

- ``making``: ``make_stencil``
"""
