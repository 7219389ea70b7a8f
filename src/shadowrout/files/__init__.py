"""A neutral drawing to the bytes of a file, the one way in which files are saved, and where they lie.

Nothing here but format knowledge; only these modules import svgwrite, ezdxf and reportlab.

- ``svg``, ``dxf``, ``pdf``, ``png``: bytes of one format; ``backend``: one drawing in several formats at once
- ``save``: bytes to the disk, whole or not at all; ``claim``: a folder for one run alone
- ``result_folder``: where the files of a job lie, and what may not be written over

``rounding`` gives every writer the same numbers; ``bezier`` and ``dxf_polyline`` draw what a format has no shape for.
"""
