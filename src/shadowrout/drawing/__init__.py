"""Neutral drawings: layers of paths, circles and texts in millimetres, y up, with the numbers they carry.

Here it is decided what goes into a file and on which layer. No file format is known here; the writers see
nothing but a ``Drawing``.

- ``shapes``: ``Drawing`` and what it is made of
- ``carve_drawing``, ``stencil_drawing``, ``template_drawing``, ``stock_drawing``: one for each kind of file
- ``paper``: the full-size pattern on the sheets of a printer
"""
