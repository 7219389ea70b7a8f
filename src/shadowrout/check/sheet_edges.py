"""The edge of a stencil or template is the rectangle that its sheet is told to be: boards are placed by it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.told_values import numbers_of
from shadowrout.words.sentences import Mm, Sentence

_ROUNDING_MM = 0.002
"""Four decimals of millimetres or inches, and a little."""
_ADVICE = "make the plaque again; don't cut this file, the sheet would be of another shape"


def faults(plaque: PlaqueFiles) -> Iterator[tuple[Promise, Finding]]:
    """Yield where a piece of a sheet's edge runs off the sides of the sheet in numbers.json."""
    for kind in ("stencil", "template"):
        sheet = numbers_of(plaque.figures, kind, "sheet_mm")
        if len(sheet) != 4:
            continue
        low, high = np.array(sheet[:2]), np.array(sheet[2:])
        for file in plaque.drawings.values():
            if not file.name.startswith(kind):
                continue
            for curve in file.curves("sheet-edge"):
                off = np.minimum(abs(curve.vertices - low), abs(curve.vertices - high)).min(axis=1)
                worst = int(off.argmax())
                if off[worst] > _ROUNDING_MM or np.any(curve.bulges != 0):
                    what = Sentence(
                        "the sheet's edge runs {off:.3f mm} off the sheet's sides", off=Mm(float(off[worst]))
                    )
                    place = float(curve.vertices[worst, 0]), float(curve.vertices[worst, 1])
                    yield Promise.FAITHFUL, Finding(place, what, _ADVICE).within(file.name)
