"""Damages to V lines as grooves: too wide, beside the stroke, or not there, so that shadow stays uncut."""

from __future__ import annotations

import math

from shadowrout.check.findings import Promise
from spoil.both_files import damage_in_each
from spoil.handles import DAMAGES, Damage, data, entities, figures, group, moved, pieces

TAN = math.tan(math.radians(30))
SANDING_MM = 0.5
"""Both folders' V tool has 60 degrees, and 0.5 mm are sanded off."""


def _svg_lines(root):
    return list(group(root, "v-line"))


def _flat(document):
    return entities(document, "v-line")


def _solid(document):
    return entities(document, "v-line-3d")


def _deepen(element, depths: list[float]) -> None:
    element.set("data-depth-mm", " ".join(f"{depth:.4f}" for depth in depths))
    element.set("data-width-mm", " ".join(f"{max(0, 2 * (depth - SANDING_MM) * TAN):.4f}" for depth in depths))


def _depths(element) -> list[float]:
    return [float(depth) for depth in element.get("data-depth-mm").split()]


def _at(vertex, z: float) -> None:
    vertex.dxf.location = (*vertex.dxf.location.vec2, z)


def _level_svg(root) -> None:
    for element in _svg_lines(root):
        depths = _depths(element)
        _deepen(element, [max(depths)] * len(depths))


def _level_dxf(document) -> None:
    for line in _solid(document):
        deepest = min(vertex.dxf.location.z for vertex in line.vertices)
        for vertex in line.vertices:
            _at(vertex, deepest)


damage_in_each(
    Promise.NO_GOUGE,
    "wide after sanding and cuts",
    in_svg=_level_svg,
    in_dxf=_level_dxf,
    whole="made",
    name="all_v_lines_at_their_greatest_depth",
)


def _shift_svg(root) -> None:
    for element in _svg_lines(root):
        element.set("d", moved(element.get("d"), 0.5j))


def _shift_dxf(document) -> None:
    for line in _flat(document):
        line.set_points([(x, y - 0.5, b) for x, y, b in line.get_points("xyb")], format="xyb")
    for line in _solid(document):
        for vertex in line.vertices:
            vertex.dxf.location -= (0, 0.5, 0)


for _whole in ("drawn", "made"):
    damage_in_each(
        Promise.NO_GOUGE,
        "wide after sanding and cuts",
        in_svg=_shift_svg,
        in_dxf=_shift_dxf,
        whole=_whole,
        name=f"v_lines_{_whole}_moved_by_half_a_millimetre",
    )


_WIDE_END_MM = 1.15 / TAN + SANDING_MM


def _wide_end_svg(root) -> None:
    element = next(line for line in _svg_lines(root) if " " in line.get("data-depth-mm"))
    _deepen(element, [*_depths(element)[:-1], _WIDE_END_MM])


def _wide_end_dxf(document) -> None:
    _at(_solid(document)[0].vertices[-1], -_WIDE_END_MM)


damage_in_each(
    Promise.NO_GOUGE,
    "2.300 mm wide after sanding and cuts",
    in_svg=_wide_end_svg,
    in_dxf=_wide_end_dxf,
    name="an_end_of_a_v_line_2_3_mm_wide",
)


def _longest(elements):
    """Return which element is longest by its straight distance from end to end."""

    def reach(element) -> float:
        start, parts, _ = pieces(element.get("d"))
        return max(abs(part[4] - start) for part in parts)

    return max(range(len(elements)), key=lambda i: reach(elements[i]))


def _shorten_svg(root) -> None:
    lines = _svg_lines(root)
    element = lines[_longest(lines)]
    start, parts, _ = pieces(element.get("d"))
    element.set("d", data(start, [("L", "", "", "", start + (parts[0][4] - start) / 10)], closed=False))
    _deepen(element, [max(_depths(element))] * 2)


def _spread(line) -> float:
    points = [(x, y) for x, y, _ in line.get_points("xyb")]
    return max(math.dist(points[0], point) for point in points)


def _longest_of(document) -> tuple:
    """Return the longest flat line and its line in space, the one that starts where it does."""
    flat = max(_flat(document), key=_spread)
    start = flat.get_points("xy")[0]
    twin = next(s for s in _solid(document) if math.dist(s.vertices[0].dxf.location.vec2, start) < 0.01)
    return flat, twin


def _shorten_dxf(document) -> None:
    flat, twin = _longest_of(document)
    (x0, y0, _), (x1, y1, _) = flat.get_points("xyb")[:2]
    tenth = (x0 + (x1 - x0) / 10, y0 + (y1 - y0) / 10)
    flat.set_points([(x0, y0, 0), (*tenth, 0)], format="xyb")
    del twin.vertices[2:]
    twin.vertices[1].dxf.location = (*tenth, flat.dxf.elevation)


damage_in_each(
    Promise.STAYS_DARK,
    "from every cut stays light",
    in_svg=_shorten_svg,
    in_dxf=_shorten_dxf,
    whole="made",
    name="a_v_line_cut_to_a_tenth",
)


def _replace_svg(root) -> None:
    lines = _svg_lines(root)
    first = _longest(lines)
    other = lines[first - 1]
    for name in ("d", "data-depth-mm", "data-width-mm"):
        lines[first].set(name, other.get(name))


def _replace_dxf(document) -> None:
    for line in _longest_of(document):
        other = next(
            x for x in document.modelspace().query(line.dxftype()) if x.dxf.layer == line.dxf.layer and x != line
        )
        document.modelspace().add_entity(other.copy())
        document.modelspace().delete_entity(line)


damage_in_each(
    Promise.STAYS_DARK,
    "from every cut stays light",
    in_svg=_replace_svg,
    in_dxf=_replace_dxf,
    whole="made",
    name="a_v_line_replaced_by_its_neighbour",
)


def _drop_svg(root) -> None:
    lines = _svg_lines(root)
    group(root, "v-line").remove(lines[_longest(lines)])


def _drop_dxf(document) -> None:
    for line in _longest_of(document):
        document.modelspace().delete_entity(line)


damage_in_each(
    Promise.STAYS_DARK,
    "from every cut stays light",
    in_svg=_drop_svg,
    in_dxf=_drop_dxf,
    whole="made",
    name="a_v_line_dropped",
)
damage_in_each(
    Promise.FIGURES,
    "V lines together are",
    in_svg=_shorten_svg,
    in_dxf=_shorten_dxf,
    whole="made",
    name="a_v_line_shorter_than_told",
)


def _told(promise: Promise, *words: str, key: str, value: float, name: str) -> None:
    def spoil(place) -> None:
        with figures(place) as told:
            told["plaques"][0][key] = value

    DAMAGES.append(Damage(name, spoil, promise, words, "made"))


_told(Promise.FIGURES, "are uncut", key="uncut_mm2", value=40.0, name="more_uncut_shadow_told_than_there_is")
_told(Promise.FIGURES, "stay dark after sanding", key="dark_left_share", value=0.9, name="less_dark_told_than_there_is")
