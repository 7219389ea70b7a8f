"""PDF: the pattern once, as reusable forms, and sheets of paper that each show a part of it.

Everything is vector. Forms, one of the pattern's lines and one of its words, keep the file light: however many sheets
a pattern takes, its curves are in the file once. Arcs become cubic Bezier curves within ARC_ERROR_MM. The typeface is
embedded.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from pathlib import Path

import reportlab
from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import FILL_NON_ZERO, Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.paper.pages import Page, Window, without_words, words_of
from shadowrout.drawing.shapes import Drawing, Layer, Marks, Role, Text
from shadowrout.files.backend import render
from shadowrout.files.bezier import bezier_pieces
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Point
from shadowrout.words.colours import Colour

POINTS_A_MM = 72 / 25.4
"""A PDF's unit is 1/72 in (ISO 32000-1, 8.3.2.3)."""

SHADOW_GREY = 0.82
"""Light enough for pencil marks to show, dark enough for any printer not to lose it."""

HATCH_MM = 2.5
"""Wide enough for pencil marks between the lines (no source)."""
PENS_MM = {
    Role.PLAQUE_EDGE: 0.35,
    Role.POCKET: 0.18,
    Role.LEFT_BY_BIT: 0.25,
    Role.REGISTER: 0.18,
    Role.SHEET_EDGE: 0.18,
    Role.FLOW_LINE: 0.35,
}
"""Of the series 0.13, 0.18, 0.25, 0.35 mm of technical drawing (ISO 128, from memory): bold what is looked for."""
_PEN_MM = 0.13
"""The thinnest of that series: a line to be followed by a knife or a tool hides nothing of its place."""
_HATCH_PEN_MM = 0.1
"""Thinner than any line that is to be cut."""
_DASH_GAP_MM = 0.8
"""Seen between dashes at arm's length (no source)."""
_DOT_MM = 0.35
"""Flow lines are dotted: every V line has longer dashes."""
_BOLDEST_MM = 0.6
"""A bolder pen would hide the edges of the shadow that it runs in (no source)."""
_HALO_MM = 0.7
"""White around letters, half of it on each side, so that lines that pass keep off their strokes (no source)."""
_LINES, _WORDS = "lines", "words"

rl_config.useA85 = 0  # streams stay as compressed: in letters alone the file would be a quarter larger

_FACE = "Vera"
_CAPITAL_SHARE = 1493 / 2048
"""Capital height of the typeface as a share of its size (its H is 1493 of 2048 units high)."""


def pdf_bytes(pattern: Drawing, pages: Sequence[Page]) -> bytes:
    """Return a PDF of the pages, true size; the same pattern and pages give the same bytes.

    Raises PromiseError for a shape that rounding would leave nothing of.
    """
    if _FACE not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(_FACE, Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"))
    content = io.BytesIO()
    canvas = Canvas(content, invariant=1, pageCompression=1, initialFontName="Helvetica")
    canvas.setTitle(pattern.title)
    canvas.setSubject(pattern.description)
    canvas.setCreator("shadowrout")
    canvas.setProducer("shadowrout")
    x0, y0, x1, y1 = (side / pattern.unit.mm for side in pattern.box_mm)
    for name, part in ((_LINES, without_words(pattern)), (_WORDS, words_of(pattern))):
        canvas.beginForm(name, x0, y0, x1, y1)
        render(part, _Pen(canvas))
        canvas.endForm()
    for page in pages:
        _draw(page, pattern, canvas)
    canvas.save()
    return content.getvalue()


def _draw(page: Page, pattern: Drawing, canvas: Canvas) -> None:
    x0, y0, x1, y1 = page.sheet.box_mm
    canvas.setPageSize(((x1 - x0) * POINTS_A_MM, (y1 - y0) * POINTS_A_MM))
    for window in page.windows:
        _show(window, pattern, canvas)
    canvas.saveState()
    points = page.sheet.unit.mm * POINTS_A_MM
    canvas.transform(points, 0, 0, points, -x0 * POINTS_A_MM, -y0 * POINTS_A_MM)
    render(page.sheet, _Pen(canvas))
    canvas.restoreState()
    canvas.showPage()


def _show(window: Window, pattern: Drawing, canvas: Canvas) -> None:
    """Draw the part of the pattern that a window shows, and nothing beyond it."""
    x0, y0, x1, y1 = (side * POINTS_A_MM for side in window.on_page_mm)
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.clipPath(frame, stroke=0, fill=0)
    a, b, c, d, e, f = window.matrix
    unit = pattern.unit.mm * POINTS_A_MM
    canvas.transform(a * unit, b * unit, c * unit, d * unit, e * POINTS_A_MM, f * POINTS_A_MM)
    for name in (_LINES, _WORDS) if window.with_words else (_LINES,):
        canvas.doForm(name)
    canvas.restoreState()


class _Pen:
    """Draws a drawing's layers in its own unit; what is filled is gathered and painted at the layer's end.

    Holes run the other way round than outer rings, so paths that overlap are filled where either is.
    """

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.hatches = 0
        self.gathered: list[ArcPath] = []
        self.role: Role | None = None
        self.hidden = False

    def page(self, drawing: Drawing, box: Box) -> None:
        self.box = box
        self.unit_mm = drawing.unit.mm
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(0)

    def layer(self, layer: Layer, name: str) -> None:
        self._paint_gathered()
        self.hidden = layer.hidden
        self.role = layer.role
        self._stroke(COLOURS[layer.role], PENS_MM.get(layer.role, _PEN_MM))
        self.canvas.setDash()
        if layer.role is Role.V_LINE and layer.marks.depth_mm:
            self._pen_for_depth(layer.marks.depth_mm)
        if layer.role is Role.FLOW_LINE:
            self.canvas.setDash([_DOT_MM / self.unit_mm, _DASH_GAP_MM / self.unit_mm], 0)

    def path(self, path: ArcPath, marks: Marks) -> None:
        if self.hidden:
            return
        if self.role in (Role.SHADOW, Role.POCKET):
            self.gathered.append(path)
        else:
            self.canvas.drawPath(self._outline([path]), stroke=1, fill=0)

    def circle(self, centre: Point, radius: float, marks: Marks) -> None:
        self.path(ArcPath.circle(centre, radius), marks)

    def text(self, baseline: Point, text: Text, height: float) -> None:
        """Draw the text in black over a white rim, so that it can be read on any ground."""
        if self.hidden:
            return
        words = _drawable(text.text)
        size = height / _CAPITAL_SHARE
        x, y = (-pdfmetrics.stringWidth(words, _FACE, size) / 2 if text.centred else 0.0), 0.0
        self.canvas.saveState()
        self.canvas.translate(*baseline)
        self.canvas.rotate(90 if text.reads_up else 0)
        self.canvas.setFont(_FACE, size)
        self.canvas.setDash()
        self._stroke((255, 255, 255), _HALO_MM)
        self.canvas.drawString(x, y, words, mode=1)
        self.canvas.setFillGray(0)
        self.canvas.drawString(x, y, words, mode=0)
        self.canvas.restoreState()

    def finished(self) -> bytes:
        """Paint what is left; the file itself ends after its last page."""
        self._paint_gathered()
        return b""

    def _paint_gathered(self) -> None:
        if self.gathered and self.role is Role.SHADOW:
            self.canvas.setFillGray(SHADOW_GREY)
            self.canvas.drawPath(self._outline(self.gathered), stroke=0, fill=1, fillMode=FILL_NON_ZERO)
        elif self.gathered:
            outline = self._outline(self.gathered)
            self._hatch(outline)
            self.canvas.drawPath(outline, stroke=1, fill=0)
        self.gathered = []

    def _hatch(self, outline: PDFPathObject) -> None:
        """Fill an outline with parallel lines, leaning the other way in every second layer."""
        x0, y0, x1, y1 = self.box
        step = HATCH_MM * math.sqrt(2) / self.unit_mm
        rise = y1 - y0
        self.canvas.saveState()
        self.canvas.clipPath(outline, stroke=0, fill=0, fillMode=FILL_NON_ZERO)
        self.canvas.setLineWidth(_HATCH_PEN_MM / self.unit_mm)
        begin, lean = (x0 - rise, rise) if self.hatches % 2 == 0 else (x0, -rise)
        for number in range(math.ceil((x1 - x0 + rise) / step)):
            x = begin + number * step
            self.canvas.line(x, y0, x + lean, y1)
        self.canvas.restoreState()
        self.hatches += 1

    def _outline(self, paths: Sequence[ArcPath]) -> PDFPathObject:
        outline = self.canvas.beginPath()
        for path in paths:
            x, y = path.vertices[0].tolist()
            outline.moveTo(x, y)
            for piece in bezier_pieces(path, unit_mm=self.unit_mm):
                outline.curveTo(*piece) if len(piece) == 6 else outline.lineTo(*piece)
            if path.closed:
                outline.close()
        return outline

    def _stroke(self, colour: Colour, width_mm: float) -> None:
        self.canvas.setStrokeColorRGB(*(channel / 255 for channel in colour))
        self.canvas.setLineWidth(width_mm / self.unit_mm)

    def _pen_for_depth(self, depth_mm: float) -> None:
        """Have every dash as long as the cut is deep, and the line the bolder the deeper."""
        self.canvas.setDash([depth_mm / self.unit_mm, _DASH_GAP_MM / self.unit_mm], 0)
        self.canvas.setLineWidth(min(0.15 + 0.1 * depth_mm, _BOLDEST_MM) / self.unit_mm)


def _drawable(text: str) -> str:
    """Return the text with characters that the typeface lacks as their code points."""
    glyphs = pdfmetrics.getFont(_FACE).face.charToGlyph
    return "".join(c if ord(c) in glyphs else f"(U+{ord(c):04X})" for c in text)
