"""What a sheet has to say: along its rim, where nothing is cut, or else wherever there is room between its openings."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from shadowrout.drawing.ink import Ink, Rooms
from shadowrout.drawing.labels_apart import placed_apart
from shadowrout.drawing.notes import HEIGHTS_MM, PlacedNote
from shadowrout.drawing.shapes import LETTER_SHARE, Text
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region

_LINE_SHARE = 1.6
"""From one line to the next, over the capital height, as in a note."""

_ROOM_SHARE = 0.8
"""Share of a rim's width that lines may fill: the rest keeps them off the cut edges."""

_WIDTHS = (1.0, 0.75, 0.5, 0.35, 0.25)
"""The shares of the longest line's letters at which lines are wrapped that find no room on the rim."""

_LINE_WEIGHT = 0.5
"""What half a millimetre of a reference line under a text weighs against a millimetre of leader."""


def sheet_text(
    lines: Sequence[str],
    sheet: Box,
    *,
    rim_mm: float,
    keep_off: Region,
    over: Sequence[ArcPath] = (),
    strip: Box | None = None,
) -> Iterator[Text]:
    """Yield the lines on the rim of the sheet or of a ``strip`` of it, none over ``keep_off`` or the sheet's edge.

    Where they have no room there, all stand together, wrapped, on the emptiest spot of the sheet, or each on a spot of
    its own; they may cover the reference lines ``over``. Only a sheet without room even for that has some in the way.
    """
    ink = Ink([(path, _LINE_WEIGHT) for path in over], sheet)
    longest_first = [[line] for line in sorted(lines, key=len, reverse=True)]
    texts: Sequence[Text] = ()
    for layout in (
        rim_text(lines, strip or sheet, rim_mm=rim_mm),
        _blocks([lines], keep_off, ink),
        _blocks(longest_first, keep_off, ink),
    ):
        texts = tuple(layout)
        if _is_clear(texts, sheet, keep_off):
            break
    yield from texts


def _blocks(blocks: Iterable[Sequence[str]], keep_off: Region, ink: Ink) -> Iterator[Text]:
    """Yield blocks of lines, each on the emptiest spot that is left, wrapped as suits that."""
    placed: list[PlacedNote] = []
    for lines in blocks:
        placed.append(placed_apart(_wrapped(lines), placed, [keep_off], ink=ink))
        yield from (Text(at, text, placed[-1].height_mm) for text, at in placed[-1].lines)


def _wrapped(lines: Sequence[str]) -> list[tuple[str, ...]]:
    """Return the ways in which lines may be wrapped, the widest first."""
    longest = max(map(len, lines))
    widths = dict.fromkeys(max(1, round(longest * share)) for share in _WIDTHS)
    return [tuple(row for line in lines for row in textwrap.wrap(line, width)) for width in widths]


def text_box(text: Text) -> Box:
    """Return the room that a centred text takes."""
    (x, y), across, up = text.at, LETTER_SHARE * text.height_mm * len(text.text) / 2, text.height_mm / 2
    return x - across, y - up, x + across, y + up


def _is_clear(texts: Sequence[Text], sheet: Box, keep_off: Region) -> bool:
    """Return whether all texts lie on the sheet and clear of a region, to within half a millimetre."""
    boxes = np.array([text_box(text) for text in texts]).reshape(-1, 4)
    inside = (boxes[:, :2] >= sheet[:2]).all() and (boxes[:, 2:] <= sheet[2:]).all()
    return bool(inside) and not Rooms([keep_off, Region.empty()], sheet).foreign(boxes, own=1).any()


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
