"""Damages to cutter paths, V lines and depths."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

from shadowrout.check.findings import Promise
from spoil.handles import a_hole, damage, dxf, entities, group, largest, mark, moved, pieces, svg


def _shift_cutter_paths(place: Path, shift: float) -> None:
    with svg(place) as root:
        for path in group(root, "cutter-path"):
            path.set("d", moved(path.get("d"), shift))
    with dxf(place) as document:
        for line in entities(document, "cutter-path"):
            line.set_points([(x + shift, y, b) for x, y, b in line.get_points("xyb")], format="xyb")


@damage(Promise.NO_GOUGE, "cutter takes", "outside the shadow")
def the_cutter_paths_of_both_files_moved_by_half_a_millimetre(place):
    _shift_cutter_paths(place, 0.5)


@damage(Promise.NO_GOUGE, "carve.svg", "cutter takes")
def a_vertex_of_a_cutter_path_moved(place):
    with svg(place) as root:
        path = largest(group(root, "cutter-path"))
        start, parts, _ = pieces(path.get("d"))
        furthest = max(range(len(parts) - 1), key=lambda i: abs(parts[i][4] - start))
        away = parts[furthest][4] - start
        path.set("d", moved(path.get("d"), away / abs(away) * 1.5, only=furthest))


@damage(Promise.NO_GOUGE, "5 mm cutter takes")
def a_larger_cutter_in_the_marks(place):
    with svg(place) as root:
        for element in [*group(root, "cutter-path"), *group(root, "pocket")]:
            element.set("data-cutter-mm", "5")
    with dxf(place) as document:
        for entity in [*entities(document, "cutter-path"), *entities(document, "pocket")]:
            mark(entity, cutter_mm=5)


@damage(Promise.NO_GOUGE, "carve.svg", "cutter takes", "outside the shadow")
def a_hole_of_the_cutter_paths_dropped(place):
    with svg(place) as root:
        group(root, "cutter-path").remove(a_hole(root, "cutter-path"))


@damage(Promise.NO_GOUGE, "wall is", "off where the 3 mm cutter's edge ends")
def the_walls_moved(place):
    with svg(place) as root:
        for path in group(root, "pocket"):
            path.set("d", moved(path.get("d"), 0.25j))


@damage(Promise.NO_GOUGE, "a V line lies")
def a_v_line_moved_into_the_light(place):
    with svg(place) as root:
        path = group(root, "v-line")[0]
        path.set("d", moved(path.get("d"), 2.5j))


@damage(Promise.NO_GOUGE, "no cutter path of that diameter")
def a_cutter_path_for_another_cutter(place):
    with svg(place) as root:
        for element in group(root, "cutter-path"):
            element.set("data-cutter-mm", "2")


@damage(Promise.STAYS_DARK, "carve.svg", "must be left")
def a_depth_of_the_svg_halved(place):
    with svg(place) as root:
        layer = group(root, "pocket")
        depth = layer[0].get("data-depth-mm") or layer.get("data-depth-mm")
        layer[0].set("data-depth-mm", str(float(depth) / 2))


@damage(Promise.STAYS_DARK, "name says", "mark")
def a_depth_in_a_layer_name_changed(place):
    with dxf(place) as document:
        layer = next(x for x in document.layers if x.dxf.name.lower().startswith("pocket-"))
        layer.rename(re.sub(r"\d+_\d+", "9_00", layer.dxf.name))


@damage(Promise.STAYS_DARK, "carve.dxf", "elevation")
def an_elevation_changed(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].dxf.elevation = -1.0


@damage(Promise.STAYS_DARK, "carve.dxf", "elevation is 3 mm")
def an_elevation_above_the_face(place):
    with dxf(place) as document:
        line = entities(document, "cutter-path")[0]
        line.dxf.elevation = -line.dxf.elevation


@damage(Promise.STAYS_DARK, "carve.dxf", "depth mark says 1 mm")
def a_depth_in_the_extended_data_changed(place):
    with dxf(place) as document:
        mark(entities(document, "pocket")[0], depth_mm=1.0)


@damage(Promise.STAYS_DARK, "gone after")
def a_v_line_shallower_than_the_sanding(place):
    with svg(place) as root:
        group(root, "v-line")[0].set("data-depth-mm", "0.4")
    with dxf(place) as document:
        line = entities(document, "v-line")[0]
        mark(line, depth_mm=0.4)
        line.dxf.elevation = -0.4


@damage(Promise.STAYS_DARK, "width is given as")
def a_width_of_a_v_line_doubled(place):
    with svg(place) as root:
        element = group(root, "v-line")[0]
        element.set("data-width-mm", " ".join(str(2 * float(x)) for x in element.get("data-width-mm").split()))


@damage(Promise.STAYS_DARK, "V tool's greatest depth")
def a_v_line_deeper_than_its_tool(place):
    with svg(place) as root:
        group(root, "v-line")[0].set("data-depth-mm", "6")


@damage(Promise.STAYS_DARK, "goes through the board")
def a_pocket_through_the_board(place):
    with svg(place) as root:
        group(root, "cutter-path")[0].set("data-depth-mm", "18.5")


def _with_profile(root: ElementTree.Element) -> ElementTree.Element:
    return next(line for line in group(root, "v-line") if " " in line.get("data-depth-mm"))


@damage(Promise.STAYS_DARK, "gone after")
def one_vertex_of_a_v_line_too_shallow(place):
    with svg(place) as root:
        line = _with_profile(root)
        line.set("data-depth-mm", " ".join([*line.get("data-depth-mm").split()[:-1], "0.3"]))


@damage(Promise.MARKED, "numbers of depth_mm for")
def a_depth_of_a_profile_dropped(place):
    with svg(place) as root:
        line = _with_profile(root)
        line.set("data-depth-mm", line.get("data-depth-mm") + " 1.5")


@damage(Promise.AGREE, "misses a vertex")
def a_line_in_space_lifted(place):
    with dxf(place) as document:
        for vertex in entities(document, "v-line-3d")[0].vertices:
            vertex.dxf.location += (0, 0, 0.1)


@damage(Promise.AGREE, "lines in space in the DXF")
def a_line_in_space_dropped(place):
    with dxf(place) as document:
        document.modelspace().delete_entity(entities(document, "v-line-3d")[0])


@damage(Promise.STAYS_DARK, "layer's name says", "across")
def another_cutter_in_a_layer_name(place):
    with svg(place) as root:
        holder = group(root, "pocket")
        holder.set("id", re.match(r"pocket-\d+_\d+mm", holder.get("id"))[0] + "-9_00mm")


@damage(Promise.NO_GOUGE, "carve.svg", "no closed shadow")
def all_shadows_of_the_svg_removed(place):
    with svg(place) as root:
        root.remove(group(root, "shadow"))
