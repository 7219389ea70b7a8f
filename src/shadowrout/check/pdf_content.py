"""A PDF's content stream, read into what it paints (ISO 32000-1, 8 and 9).

Numbers and strings stand before the operator that they belong to. What a stream names but doesn't hold, other streams
and fonts, is left to ``pdf_reader``.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, field

import numpy as np

from shadowrout.check.pdf_tokens import FARTHEST, ContentError, operations
from shadowrout.check.printed_page import (
    IDENTITY,
    Colour,
    Contour,
    Imprint,
    Matrix,
    Pane,
    joined,
    keeps_level,
    moved,
    picture,
)

MOST_OPERATORS = 3_000_000
"""In one stream; the largest pattern's has a tenth of that, and these take some ten seconds."""
_MOST_SAVED = 200
"""Graphics states saved at once; PDF itself promises 28 (ISO 32000-1, annex C)."""


@dataclass(frozen=True)
class ShownString:
    """A string as shown: its bytes, the font's name, place and size of its letters; ``shown`` unless invisible."""

    code: bytes
    font: str
    at: tuple[float, float]
    size: float
    shown: bool


@dataclass(frozen=True)
class Use:
    """Where a stream paints a thing by its name, a form or a picture."""

    name: str
    matrix: Matrix
    pane: Pane | None


@dataclass(eq=False)
class Content:
    """What a stream paints, in its order, and the names of the graphics states and the layers that it uses."""

    items: list[Imprint | ShownString | Use] = field(default_factory=list)
    states: set[str] = field(default_factory=set)
    layers: set[str] = field(default_factory=set)


@dataclass
class _State:
    matrix: Matrix = IDENTITY
    pane: Pane | None = None
    fill: Colour | None = (0.0, 0.0, 0.0)
    stroke: Colour | None = (0.0, 0.0, 0.0)
    width: float = 1.0
    font: str = ""
    size: float = 0.0
    leading: float = 0.0
    text_mode: int = 0


def read_content(stream: bytes) -> Content:
    """Return what a decoded content stream paints; raises ContentError for one that is damaged or too long."""
    return _Painter().read(stream)


class _Painter:
    """Follows a stream's operators: the graphics state, the path under construction, the text line."""

    def __init__(self) -> None:
        self.content = Content()
        self.state = _State()
        self.saved: list[_State] = []
        self.path: list[list[float]] = []
        self.closed: list[bool] = []
        self.at = (0.0, 0.0)
        self.clips = False
        self.line = IDENTITY
        self.in_text = False

    def read(self, stream: bytes) -> Content:
        for count, (operator, numbers, others) in enumerate(operations(stream)):
            if count >= MOST_OPERATORS:
                raise ContentError("a page holds more than any pattern needs")
            if (counted := _COUNTED.get(operator)) is not None:
                if len(numbers) != counted[0]:
                    raise ContentError(f"{operator} in a page's content has {len(numbers)} numbers for {counted[0]}")
                counted[1](self, *numbers)
            elif operator in _PAINTS:
                self._paint(*_PAINTS[operator])
            elif operator in _COLOURS:
                self._colour(operator, numbers, others)
            elif (named := _NAMED.get(operator)) is not None:
                named(self, numbers, others)
            elif operator not in _IGNORED:
                raise ContentError(f"{operator[:20]!r} in a page's content is no operator")
        if self.saved or self.path or self.in_text:
            raise ContentError("a page's content ends too early")
        return self.content

    # Paths: each a list of numbers, its first point and then six for each piece.

    def move(self, x: float, y: float) -> None:
        if self.path and len(self.path[-1]) == 2:
            self.path[-1] = [x, y]
        else:
            self.path.append([x, y])
            self.closed.append(False)
        self.at = (x, y)

    def curve(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        if not self.path:
            raise ContentError("a line in a page's content begins nowhere")
        if self.closed[-1]:  # it goes on from where the closed one began
            self.path.append(self.path[-1][:2])
            self.closed.append(False)
        self.path[-1] += (x1, y1, x2, y2, x, y)
        self.at = (x, y)

    def straight(self, x: float, y: float) -> None:
        x0, y0 = self.at
        dx, dy = (x - x0) / 3, (y - y0) / 3
        self.curve(x0 + dx, y0 + dy, x - dx, y - dy, x, y)

    def early(self, x2: float, y2: float, x: float, y: float) -> None:
        self.curve(*self.at, x2, y2, x, y)

    def late(self, x1: float, y1: float, x: float, y: float) -> None:
        self.curve(x1, y1, x, y, x, y)

    def close(self) -> None:
        if self.path and not self.closed[-1]:
            first = self.path[-1]
            if self.at != (first[0], first[1]):
                self.straight(first[0], first[1])
            self.closed[-1] = True
            self.at = (first[0], first[1])

    def rectangle(self, x: float, y: float, width: float, height: float) -> None:
        self.move(x, y)
        for corner in ((x + width, y), (x + width, y + height), (x, y + height)):
            self.straight(*corner)
        self.close()

    def clip(self) -> None:
        self.clips = True

    def _contours(self) -> tuple[Contour, ...]:
        found = []
        for numbers, closed in zip(self.path, self.closed, strict=True):
            if len(numbers) > 2:
                every = np.array(numbers)
                ends = every.reshape(-1, 2)
                starts = ends[:-1:3]
                pieces = np.concatenate([starts, every[2:].reshape(-1, 6)], axis=1)
                found.append(Contour(pieces, closed))
        return tuple(found)

    def _paint(self, closes: bool, fills: str, strokes: bool) -> None:
        if closes:
            self.close()
        contours, state = self._contours(), self.state
        if contours and fills:
            self._add(Imprint("fill", contours, state.matrix, state.fill, 0.0, fills == "even-odd", state.pane))
        if contours and strokes:
            self._add(Imprint("stroke", contours, state.matrix, state.stroke, state.width, False, state.pane))
        if self.clips:
            state.pane = self._clipped(contours).within(state.pane)
        self.path, self.closed, self.clips = [], [], False

    def _add(self, item: Imprint | ShownString | Use) -> None:
        self.content.items.append(item)

    def _clipped(self, contours: tuple[Contour, ...]) -> Pane:
        """Return the pane that a path leaves; nothing is to be seen through none."""
        if not contours:
            return Pane((0.0, 0.0, 0.0, 0.0))
        points = np.concatenate([moved(contour.pieces.reshape(-1, 2), self.state.matrix) for contour in contours])
        (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return Pane((x0, y0, x1, y1), len(contours) == 1 and _is_box(contours[0]) and keeps_level(self.state.matrix))

    # The graphics state

    def save(self) -> None:
        if len(self.saved) >= _MOST_SAVED:
            raise ContentError("a page's content is nested deeper than any pattern's")
        self.saved.append(copy(self.state))

    def restore(self) -> None:
        if not self.saved:
            raise ContentError("a page's content restores what it hasn't saved")
        self.state = self.saved.pop()

    def transform(self, *matrix: float) -> None:
        a, b, c, d, e, f = matrix
        self.state.matrix = _within_reach(joined((a, b, c, d, e, f), self.state.matrix))

    def pen(self, width: float) -> None:
        self.state.width = width

    def _colour(self, operator: str, numbers: list[float], others: list[str | bytes]) -> None:
        """Take a colour by how many numbers it has, whatever its space is called; a pattern is no colour."""
        colour = (0.0, 0.0, 0.0) if operator.lower() == "cs" else None
        if numbers and not others:
            colour = _rgb(numbers)
        if operator.islower():
            self.state.fill = colour
        else:
            self.state.stroke = colour

    def _use_state(self, numbers: list[float], others: list[str | bytes]) -> None:
        self.content.states.add(_name(others))

    def _begin_layer(self, numbers: list[float], others: list[str | bytes]) -> None:
        if others[:1] == ["/OC"]:
            self.content.layers.add(_name(others))

    def _use(self, numbers: list[float], others: list[str | bytes]) -> None:
        self._add(Use(_name(others), self.state.matrix, self.state.pane))

    def _shade(self, numbers: list[float], others: list[str | bytes]) -> None:
        self._add(picture((-FARTHEST, -FARTHEST, FARTHEST, FARTHEST), IDENTITY, self.state.pane))

    def _picture(self, numbers: list[float], others: list[str | bytes]) -> None:
        self._add(picture((0.0, 0.0, 1.0, 1.0), self.state.matrix, self.state.pane))

    # Text

    def begin_text(self) -> None:
        self.line, self.in_text = IDENTITY, True

    def end_text(self) -> None:
        self.in_text = False

    def text_matrix(self, *matrix: float) -> None:
        a, b, c, d, e, f = matrix
        self.line = (a, b, c, d, e, f)

    def next_line(self, x: float, y: float) -> None:
        self.line = _within_reach(joined((1.0, 0.0, 0.0, 1.0, x, y), self.line))

    def next_line_led(self, x: float, y: float) -> None:
        self.state.leading = -y
        self.next_line(x, y)

    def down(self) -> None:
        self.next_line(0.0, -self.state.leading)

    def leading(self, height: float) -> None:
        self.state.leading = height

    def text_mode(self, mode: float) -> None:
        self.state.text_mode = int(mode)

    def _font(self, numbers: list[float], others: list[str | bytes]) -> None:
        if len(numbers) != 1:
            raise ContentError("a font in a page's content has no size")
        self.state.size = numbers[0]
        self.state.font = _name(others)

    def _show(self, numbers: list[float], others: list[str | bytes]) -> None:
        code = b"".join(operand for operand in others if isinstance(operand, bytes))
        matrix = joined(self.line, self.state.matrix)
        size = abs(self.state.size) * float(np.hypot(matrix[2], matrix[3]))
        self._add(ShownString(code, self.state.font, (matrix[4], matrix[5]), size, self.state.text_mode not in (3, 7)))

    def _show_below(self, numbers: list[float], others: list[str | bytes]) -> None:
        self.down()
        self._show(numbers, others)


def _within_reach(matrix: Matrix) -> Matrix:
    if not all(-FARTHEST <= part <= FARTHEST for part in matrix):
        raise ContentError("a page's content reaches beyond any sheet")
    return matrix


def _is_box(contour: Contour) -> bool:
    """Return whether a contour is a level rectangle, each side one straight piece or none."""
    points = contour.pieces.reshape(-1, 4, 2)
    steps = np.abs(points[:, 3] - points[:, 0])
    ends = np.unique(points[:, 3], axis=0)
    return bool((steps.min(axis=1) == 0).all() and len(ends) == len(points) == 4)


def _rgb(numbers: list[float]) -> Colour | None:
    if len(numbers) == 1:
        return numbers[0], numbers[0], numbers[0]
    if len(numbers) == 3:
        return numbers[0], numbers[1], numbers[2]
    if len(numbers) == 4:
        cyan, magenta, yellow, black = numbers
        return (1 - cyan) * (1 - black), (1 - magenta) * (1 - black), (1 - yellow) * (1 - black)
    return None


def _name(operands: list[str | bytes]) -> str:
    names = [operand for operand in operands if isinstance(operand, str)]
    if not names:
        raise ContentError("a name is missing in a page's content")
    return names[-1]


_Verb = Callable[..., None]
_COUNTED: dict[str, tuple[int, _Verb]] = {
    "m": (2, _Painter.move),
    "l": (2, _Painter.straight),
    "c": (6, _Painter.curve),
    "v": (4, _Painter.early),
    "y": (4, _Painter.late),
    "h": (0, _Painter.close),
    "re": (4, _Painter.rectangle),
    "W": (0, _Painter.clip),
    "W*": (0, _Painter.clip),
    "q": (0, _Painter.save),
    "Q": (0, _Painter.restore),
    "cm": (6, _Painter.transform),
    "w": (1, _Painter.pen),
    "BT": (0, _Painter.begin_text),
    "ET": (0, _Painter.end_text),
    "Tm": (6, _Painter.text_matrix),
    "Td": (2, _Painter.next_line),
    "TD": (2, _Painter.next_line_led),
    "T*": (0, _Painter.down),
    "TL": (1, _Painter.leading),
    "Tr": (1, _Painter.text_mode),
}
"""How many numbers each takes, and what it does."""
_PAINTS = {
    "n": (False, "", False),
    "S": (False, "", True),
    "s": (True, "", True),
    "f": (False, "nonzero", False),
    "F": (False, "nonzero", False),
    "f*": (False, "even-odd", False),
    "B": (False, "nonzero", True),
    "B*": (False, "even-odd", True),
    "b": (True, "nonzero", True),
    "b*": (True, "even-odd", True),
}
"""Whether the path is closed first, by which rule it is filled, whether it is stroked."""
_COLOURS = {"g", "rg", "k", "G", "RG", "K", "cs", "CS", "sc", "SC", "scn", "SCN"}
_NAMED: dict[str, _Verb] = {
    "gs": _Painter._use_state,
    "BDC": _Painter._begin_layer,
    "Do": _Painter._use,
    "sh": _Painter._shade,
    "ID": _Painter._picture,
    "Tf": _Painter._font,
    "Tj": _Painter._show,
    "TJ": _Painter._show,
    "'": _Painter._show_below,
    '"': _Painter._show_below,
}
_IGNORED = {
    "J",
    "j",
    "M",
    "d",
    "ri",
    "i",
    "Tc",
    "Tw",
    "Tz",
    "Ts",
    "BMC",
    "EMC",
    "MP",
    "DP",
    "BI",
    "BX",
    "EX",
    "d0",
    "d1",
}
"""Caps and joins, dashes, letter spacing, and marks without any meaning for what is painted."""
