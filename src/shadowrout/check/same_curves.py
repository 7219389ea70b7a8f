"""Files that draw the same curves, so that what is measured on one holds for the other."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from shadowrout.check.curve_samples import middles, vertices
from shadowrout.check.drawing_file import DrawingFile, Shape, role_of_layer

SAME_MM = 0.0001
"""How far curves may lie apart and be judged as one: a tenth of what the measures allow for rounding."""


def drawn_alike(files: Iterable[DrawingFile], *roles: str) -> list[tuple[str, DrawingFile]]:
    """Return one file of each set of files whose shapes of the roles are the same, and the names of the whole set.

    The same are shapes in one order, with the same roles and cutters, whose vertices and arc middles lie no further
    apart than ``SAME_MM``. No files give none.
    """
    found: list[tuple[list[str], DrawingFile, list[Shape]]] = []
    for file in files:
        shapes = list(file.of_role(*roles))
        twin = next((names for names, _, others in found if _same(shapes, others)), None)
        if twin is None:
            found.append(([file.name], file, shapes))
        else:
            twin.append(file.name)
    return [(" and ".join(names), file) for names, file, _ in found]


def _same(ours: list[Shape], theirs: list[Shape]) -> bool:
    if [_form(shape) for shape in ours] != [_form(shape) for shape in theirs]:
        return False
    one, other = ([shape.curve for shape in shapes if shape.curve is not None] for shapes in (ours, theirs))
    return all(np.allclose(of(one), of(other), rtol=0, atol=SAME_MM) for of in (vertices, middles))


def _form(shape: Shape) -> tuple[str, float | None, bool, int]:
    closed, vertices = (shape.curve.closed, len(shape.curve.vertices)) if shape.curve is not None else (False, 0)
    return role_of_layer(shape.layer), shape.marks.get("cutter_mm"), closed, vertices
