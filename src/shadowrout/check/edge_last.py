"""The order in which a sheet is cut: what is cut free first moves under the tool, so its edge comes last."""

from __future__ import annotations

from collections.abc import Iterator

from shadowrout.check.drawing_file import DrawingFile, role_of_layer
from shadowrout.check.findings import Finding

_ADVICE = "make the plaque again; don't cut this file, a sheet that is cut free first moves"


def edge_too_early(file: DrawingFile) -> Iterator[Finding]:
    """Yield where an opening or a dowel hole of a sheet stands after a piece of its edge, or of any edge on stock."""
    free = False
    for shape in file.shapes:
        role = role_of_layer(shape.layer)
        free |= role == "sheet-edge"
        cut = role == "opening" or (role == "register" and shape.curve is not None and shape.curve.closed)
        if free and cut:
            what = "a dowel hole" if role == "register" else "an opening"
            yield Finding(shape.place, f"{what} comes after the sheet's edge in the file", _ADVICE)
