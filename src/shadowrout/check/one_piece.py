"""One piece: what is left of a stencil's or template's sheet holds together, and still does when it is worn.

With w the least web and r just under w / 2, M is the largest piece of the sheet worn back by r at every edge, and
B is M grown by r again: what is solid. The sheet holds if it is one 4-connected piece, nothing of it lies further
than w from B, and no piece outside B that touches it in two places reaches more than 0.35 w away from it: such a
piece is a web thinner than w. Small tips of light that stand out of B are worn away and do no harm.

The point of a sharp tip may hold the middle of a pixel that meets the others at a corner alone. So a piece that is
nowhere two pixels wide, and joined by corners to one that is, counts as that one's tip: a gap between them, narrower
than a pixel, could not be told from none. A loose hair is no tip: nothing that it touches is wider.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, sampled
from shadowrout.check.drawing_file import Box, DrawingFile
from shadowrout.check.findings import Finding, Place, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.raster import Raster, distance_px, within_px
from shadowrout.check.same_curves import drawn_alike
from shadowrout.words.sentences import Mm, Sentence

TWO_TOUCH_SHARE = 0.35
"""How far, in webs, a piece may reach from the solid sheet that it touches in two places."""

_PIXEL_MM = 0.1
"""A thirtieth of the usual web, 3 mm."""
_MOST_PIXELS = 40_000_000
"""40 MB for a mask of bytes: a sheet of 600 x 660 mm at the pixel above; a larger one gets larger pixels."""
_SAGITTA_MM = 0.002
"""A fiftieth of a pixel."""
_MOST_FINDINGS = 20
"""More would not be read; the largest pieces come first."""
_SLACK_PX = 1.5
"""What pixels may take from the width of a web: its edges are known to the pixel only."""
_WITHIN_LINE_PX = 0.499
"""Pixels that a line encloses have their middles half a pixel within it; a hair less leaves out those just on it."""

_LIMIT = "1 piece, whole and worn"
_ADVICE = "make it again with a larger web or coarser detail, or add a bridge there"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the number of pieces of each stencil and template sheet; 1 where it holds together."""
    findings = plaque.found(Promise.ONE_PIECE)
    pieces_of: dict[str, int] = {}
    for kind in ("stencil", "template"):
        asked = getattr(plaque.job, kind, None)
        web_mm, kerf_mm = (float(getattr(asked, name, None) or 0.0) for name in ("web", "kerf"))
        files = [file for file in plaque.drawings.values() if file.name.startswith(kind)]
        for names, file in drawn_alike(files, "sheet-edge", "opening", "register"):
            pieces_of[names], found = judged(file, web_mm=web_mm, kerf_mm=kerf_mm)
            findings += [finding.within(names) for finding in found]
    if not pieces_of:
        return untested(Promise.ONE_PIECE, "no stencil, no template", _LIMIT, findings)
    return result(Promise.ONE_PIECE, _told(pieces_of), _LIMIT, findings)


def _told(pieces_of: Mapping[str, int]) -> str:
    """Return in how many pieces the sheets are, the worst of them by name where it isn't one."""
    most = max(pieces_of, key=lambda names: pieces_of[names])
    sheets = f"{len(pieces_of)} sheets of 1 piece" if len(pieces_of) > 1 else "1 piece"
    return sheets if pieces_of[most] == 1 else f"{most}: {pieces_of[most]} pieces"


def judged(file: DrawingFile, *, web_mm: float, kerf_mm: float) -> tuple[int, list[Finding]]:
    """Return the number of pieces, and what falls out or hangs on too thin a web."""
    edges = file.curves("sheet-edge")
    if not edges:
        return 0, [Finding(None, "the sheet has no edge", _ADVICE)]
    points = sampled(edges, sagitta_mm=_SAGITTA_MM).points
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    raster = Raster.over((x0, y0, x1, y1), pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=1.0)
    sheet = _sheet(raster, (x0, y0, x1, y1), edges) & ~_cut(raster, file.curves("opening", "register"), kerf_mm)
    count, loose = _pieces(sheet, raster)
    if count == 0:
        return 0, [Finding(((x0 + x1) / 2, (y0 + y1) / 2), "nothing is left of the sheet", _ADVICE)]
    findings = [
        Finding(place, Sentence("a piece of {area:.2f mm} falls out of the sheet", area=Mm.area(area)), _ADVICE)
        for place, area in loose
    ]
    if count == 1 and web_mm > 0:
        findings = [
            Finding(place, Sentence("{what} thinner than {web:g mm}", what=what, web=Mm(web_mm)), _ADVICE)
            for place, what in _thin_places(sheet, raster, web_mm)
        ]
    return count, findings[:_MOST_FINDINGS]


def _sheet(raster: Raster, box: Box, edges: Sequence[Curve]) -> NDArray[np.bool_]:
    """Return the uncut sheet: within its edge, or the edge's box where ties leave it in pieces."""
    if all(edge.closed for edge in edges):
        return raster.enclosed(sampled(edges, sagitta_mm=_SAGITTA_MM))
    x0, y0, x1, y1 = box
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    return raster.enclosed(sampled([Curve(corners, np.zeros(4), closed=True)], sagitta_mm=_SAGITTA_MM))


def _cut(raster: Raster, openings: Sequence[Curve], kerf_mm: float) -> NDArray[np.bool_]:
    """Return what is open after cutting: what the lines enclose, and half the kerf beyond."""
    closed = [opening for opening in openings if opening.closed]
    if not closed:
        return np.zeros((raster.rows, raster.columns), dtype=bool)
    gone = raster.enclosed(sampled(closed, sagitta_mm=_SAGITTA_MM))
    return within_px(gone, kerf_mm / 2 / raster.pixel_mm + _WITHIN_LINE_PX) if kerf_mm > 0 else gone


def _thin_places(sheet: NDArray[np.bool_], raster: Raster, web_mm: float) -> Iterator[tuple[Place, str | Sentence]]:
    """Yield the places of webs that are too thin, and what hangs on them."""
    web_px = web_mm / raster.pixel_mm
    wear_px, far_px = web_px / 2 - _SLACK_PX, web_px + _SLACK_PX
    worn = ~within_px(~sheet, wear_px)
    count, labels = cv2.connectedComponents(_bytes(worn), connectivity=4)
    if count < 2:
        yield (raster.x0 + 1.0, raster.y0 + 1.0), "nothing is left of the sheet when it is worn: all of it is"
        return
    main = worn if count == 2 else labels == 1 + int(np.bincount(labels.ravel())[1:].argmax())
    # What is solid reaches as far beyond M as the wear, to a pixel's diagonal: nothing so near M stands out too far.
    if wear_px >= 1 and not (sheet & ~_within_square(main, wear_px + TWO_TOUCH_SHARE * web_px)).any():
        return
    solid = sheet & within_px(main, wear_px + 0.5)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(_bytes(sheet & ~solid), connectivity=4)
    for index in range(1, count):
        window = _window(stats[index], labels.shape, rim=math.ceil(far_px))
        piece = labels[window] == index
        reach = float(distance_px(solid[window])[piece].max())
        if reach > far_px:
            area = stats[index, cv2.CC_STAT_AREA] * raster.pixel_mm**2
            told = Sentence("{area:.2f mm} of the sheet hang on a web", area=Mm.area(area))
            yield _inmost(piece, window, raster), told
        elif reach > TWO_TOUCH_SHARE * web_px + _SLACK_PX and _touches(piece, solid[window]) > 1:
            yield _inmost(piece, window, raster), "a web is"


def _within_square(mask: NDArray[np.bool_], reach_px: float) -> NDArray[np.bool_]:
    """Return the pixels in upright squares about those of the mask that a disc of the reach holds whole."""
    half = math.floor(reach_px / math.sqrt(2))
    return cv2.dilate(_bytes(mask), np.ones((2 * half + 1, 2 * half + 1), np.uint8)).view(np.bool_)


def _touches(piece: NDArray[np.bool_], solid: NDArray[np.bool_]) -> int:
    """Return in how many places a piece touches the solid sheet; what pixels alone set apart is one place."""
    around = np.ones((3, 3), np.uint8)
    beside = cv2.dilate(_bytes(piece), around).astype(bool) & solid
    count, _ = cv2.connectedComponents(cv2.dilate(_bytes(beside), around), connectivity=8)
    return int(count) - 1


def _pieces(mask: NDArray[np.bool_], raster: Raster) -> tuple[int, list[tuple[Place, float]]]:
    """Return how many 4-connected pieces there are, tips left out.

    With them (a place inside, area in mm2) of the largest but for the very largest, as many as may be told.
    """
    count, _ = cv2.connectedComponents(_bytes(mask), connectivity=4)
    if count <= 2:
        return count - 1, []
    _, labels, stats, _ = cv2.connectedComponentsWithStats(_bytes(mask), connectivity=4)
    order = (np.argsort(-stats[1:, cv2.CC_STAT_AREA], kind="stable") + 1).tolist()
    tips = _tips(mask, labels)
    whole = [index for index in order if index not in tips]
    loose = []
    for index in whole[1 : _MOST_FINDINGS + 1]:
        window = _window(stats[index], labels.shape)
        area = float(stats[index, cv2.CC_STAT_AREA]) * raster.pixel_mm**2
        loose.append((_inmost(labels[window] == index, window, raster), area))
    return len(whole), loose


def _tips(mask: NDArray[np.bool_], labels: NDArray[Any]) -> set[int]:
    """Return the 4-connected pieces that are nowhere two pixels wide and 8-connected to one that is."""
    _, joined = cv2.connectedComponents(_bytes(mask), connectivity=8)
    wide = mask[:-1, :-1] & mask[1:, :-1] & mask[:-1, 1:] & mask[1:, 1:]
    beside_wide = mask & np.isin(joined, joined[:-1, :-1][wide])
    return set(np.unique(labels[beside_wide]).tolist()) - set(np.unique(labels[:-1, :-1][wide]).tolist())


def _window(stats: NDArray[np.int32], shape: tuple[int, ...], *, rim: int = 1) -> tuple[slice, slice]:
    """Return the rows and columns of a piece and ``rim`` around it."""
    left, top, width, height = stats[:4].tolist()
    return (
        slice(max(0, top - rim), min(shape[0], top + height + rim)),
        slice(max(0, left - rim), min(shape[1], left + width + rim)),
    )


def _inmost(piece: NDArray[np.bool_], window: tuple[slice, slice], raster: Raster) -> Place:
    """Return a point of the piece far from its edge."""
    depth = cv2.distanceTransform(_bytes(piece), cv2.DIST_L2, cv2.DIST_MASK_3)
    row, column = np.unravel_index(int(depth.argmax()), piece.shape)
    x, y = raster.centres(np.array([row + window[0].start]), np.array([column + window[1].start]))[0]
    return float(x), float(y)


def _bytes(mask: NDArray[np.bool_]) -> NDArray[np.uint8]:
    return np.ascontiguousarray(mask).view(np.uint8)
