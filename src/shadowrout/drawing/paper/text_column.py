"""Text and samples set from the top of a page down, for pages that are read."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from shadowrout.drawing.marks import cross, straight
from shadowrout.drawing.shapes import Circle, Layer, Path, Role, Shape, Text
from shadowrout.geometry.outlines import rectangle

SMALL_MM, MIDDLE_MM, NAME_MM, LARGE_MM = 1.8, 2.5, 3.5, 5.0
"""Capital heights of ISO 3098."""

LINE_SHARE = 1.68
"""From one line of running text to the next, over its capital height."""

_LETTER_SHARE = 0.8
"""Width of a letter of running text over its capital height: more than the embedded typeface takes in a line."""

_SAMPLE_MM, _SAMPLE_HIGH_MM = 16.0, 3.6

_LABEL_MM = 30.0
"""From the names of a block's rows to what belongs to them: the longest name fits before it."""

_FRAME_PEN_MM = 0.15
"""How far a frame stands inside the column, so that its pen stays within the printer's margin."""


class Column:
    """What has been set so far, and how far down the page it reaches. All in the page's mm, y up."""

    def __init__(self, *, left: float, right: float, top: float, text_mm: float = MIDDLE_MM) -> None:
        self.left, self.right, self.y = left, right, top
        self.text_mm, self.line_mm = text_mm, LINE_SHARE * text_mm
        self.shapes: list[Shape] = []
        self.samples: list[Layer] = []

    def title(self, text: str, rows: Sequence[tuple[str, str]]) -> None:
        """Set a framed block: a large title over rows of a name and what belongs to it."""
        top = self.y
        for line in self._wrapped(text, 4.0, LARGE_MM):
            self.y -= 2.0 + LARGE_MM
            self._write(self.left + 2.0, line, LARGE_MM)
        self.y -= 1.5
        for name, value in rows:
            for number, line in enumerate(self._wrapped(value, _LABEL_MM + 4.0)):
                self.y -= self.line_mm
                if number == 0:
                    self._write(self.left + 2.0, name, self.text_mm)
                self._write(self.left + _LABEL_MM, line, self.text_mm)
        self.y -= 2.0
        inside = _FRAME_PEN_MM
        self.shapes.append(Path(rectangle((self.left + inside, self.y, self.right - inside, top - inside))))

    def steps(self, head: str, texts: Sequence[str], *, first: int) -> int:
        """Set a heading and numbered paragraphs; return the number that follows."""
        self.y -= 3.0 + NAME_MM
        self._write(self.left, head, NAME_MM)
        self.y -= 0.8
        for number, text in enumerate(texts, start=first):
            for line_number, line in enumerate(self._wrapped(text, 6.0)):
                self.y -= self.line_mm
                if line_number == 0:
                    self._write(self.left, f"{number}", self.text_mm)
                self._write(self.left + 6.0, line, self.text_mm)
        return first + len(texts)

    def legend(self, entries: Sequence[tuple[Layer, str]]) -> None:
        """Set a sample of each layer with what it means, row by row, in two columns where they are wide enough."""
        self.y -= 3.0
        half = (self.right - self.left) / 2
        longest = max((len(text) for _, text in entries), default=0) * _LETTER_SHARE * self.text_mm
        columns = 2 if _SAMPLE_MM + 3.0 + longest <= half else 1
        for number, (layer, text) in enumerate(entries):
            if number % columns == 0:
                self.y -= max(self.line_mm, _SAMPLE_HIGH_MM) + 0.8
            x = self.left + half * (number % columns)
            sample = tuple(_sample(layer.role, x, self.y - 0.5))
            self.samples.append(Layer(layer.role, sample, layer.marks))
            self._write(x + _SAMPLE_MM + 3.0, text, self.text_mm)

    def table(self, rows: Sequence[tuple[str, ...]]) -> None:
        """Set rows of cells in columns of one width, a rule under the first row; nothing for no rows."""
        if not rows:
            return
        self.y -= 3.0
        wide = (self.right - self.left) / max(map(len, rows))
        for number, row in enumerate(rows):
            self.y -= self.line_mm
            for place, cell in enumerate(row):
                self._write(self.left + place * wide, cell, self.text_mm)
            if number == 0:
                self.y -= 1.2
                self.shapes.append(straight((self.left, self.y), (self.right, self.y)))

    def _write(self, x: float, text: str, height: float) -> None:
        if text:
            self.shapes.append(Text((x, self.y), text, height, centred=False))

    def _wrapped(self, text: str, indent: float, height: float | None = None) -> list[str]:
        letters = int((self.right - self.left - indent) / (_LETTER_SHARE * (height or self.text_mm)))
        return textwrap.wrap(text, max(8, letters)) or [""]


def _sample(role: Role, x: float, y: float) -> Iterator[Shape]:
    """Yield what a role looks like, as large as a line of text."""
    middle = y + _SAMPLE_HIGH_MM / 2
    if role in (Role.SHADOW, Role.POCKET):
        yield Path(rectangle((x, y, x + _SAMPLE_MM, y + _SAMPLE_HIGH_MM)))
    elif role is Role.REGISTER:
        centre = (x + _SAMPLE_MM / 2, middle)
        yield Circle(centre, _SAMPLE_HIGH_MM / 3)
        yield from cross(centre, _SAMPLE_HIGH_MM / 2)
    else:
        yield straight((x, middle), (x + _SAMPLE_MM, middle))
