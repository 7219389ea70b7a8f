"""A stencil from a design: its openings, and the bridges that hold its islands.

- ``plaque_stencil``: ``stencil_of``, one plaque's stencil as lines and arcs
- ``making``: ``make_stencil``, the steps to a ``CutStencil``; ``cut_stencil``: that, and what it costs the design
- ``legibility``: what it may not lose; ``stencil_checks``: settings that can't go together

``holding`` joins what hangs apart: the ``bodies`` and ``webs`` of the sheet, taken to lines by ``thinning``; ``spans``,
where a bridge could go, of which ``bridges`` takes the cheapest and ``stiffness`` a second where much hangs on one.
Then ``openings`` are what is left. All of it is measured on ``rasters``.
"""
