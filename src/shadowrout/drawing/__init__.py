"""Neutral drawings: layers of paths, circles and texts in millimetres, y up, with the numbers they carry.

Here it is decided what goes into a file and on which layer. No file format is known here; the writers see
nothing but a ``Drawing``.
"""
