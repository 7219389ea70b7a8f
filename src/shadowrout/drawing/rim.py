"""Lines of text along the rim of a sheet, where nothing is cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shadowrout.drawing.notes import HEIGHTS_MM
from shadowrout.drawing.shapes import Text
from shadowrout.geometry.region import Box

_LINE_SHARE = 1.6
_ROOM_SHARE = 0.8


def rim_text(lines: Sequence[str], sheet: Box, *, rim_mm: float) -> Iterator[Text]:
    """Yield the lines centred in the sheet's lower rim, and in the upper one where the lower is full.

    The largest height of ISO 3098 is taken at which every line fits across and all fit in; a letter counts as wide as
    high. At the least height lines that find no room are still drawn, at the end of the upper rim.
    """
    x0, y0, x1, y1 = sheet
    for height in HEIGHTS_MM:
        a_rim = max(1, int(_ROOM_SHARE * rim_mm / (_LINE_SHARE * height)))
        across = max((len(line) for line in lines), default=0) * height
        if (across <= x1 - x0 and len(lines) <= 2 * a_rim) or height == HEIGHTS_MM[-1]:
            break
    for number, line in enumerate(lines):
        lower = number < a_rim
        row = number if lower else number - a_rim
        rows = min(len(lines), a_rim) if lower else len(lines) - a_rim
        step = min(_LINE_SHARE * height, _ROOM_SHARE * rim_mm / rows)
        shift = ((rows - 1) / 2 - row) * step
        yield Text(((x0 + x1) / 2, (y0 + rim_mm / 2 if lower else y1 - rim_mm / 2) + shift), line, height)
