"""Damages to outlines: vertices, arcs, rings."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from shadowrout.check.findings import Promise
from spoil.handles import a_hole, damage, data, dxf, entities, group, largest, moved, pieces, svg, turned


@damage(Promise.FAITHFUL, "carve.svg", "off the design")
def a_vertex_of_the_svg_moved_by_0_3_mm(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", moved(path.get("d"), 0.3, only=0))


@damage(Promise.FAITHFUL, "carve.dxf", "off the design")
def a_vertex_of_the_dxf_moved_by_0_3_mm(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        line[1] = (line[1][0] + 0.21, line[1][1] + 0.21, *line[1][2:])


@damage(Promise.AGREE, "apart in SVG and DXF", "layer shadow")
def a_vertex_of_the_dxf_moved_by_0_005_mm(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        line[1] = (line[1][0], line[1][1] + 0.005, *line[1][2:])


@damage(Promise.SOUND, "carve.svg", "clockwise")
def a_ring_of_the_svg_reversed(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", turned(path.get("d")))


@damage(Promise.SOUND, "carve.dxf", "clockwise")
def a_ring_of_the_dxf_reversed(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        rows = line.get_points("xyb")
        bulges = [-row[2] for row in rows]
        line.set_points(
            [(x, y, b) for (x, y, _), b in zip(rows[::-1], bulges[-2::-1] + bulges[-1:], strict=True)],
            format="xyb",
        )


@damage(Promise.SOUND, "carve.svg", "hole turned round")
def a_hole_of_the_svg_reversed(place):
    with svg(place) as root:
        path = a_hole(root, "shadow")
        path.set("d", turned(path.get("d")))


@damage(Promise.FAITHFUL, "carve.svg", "from the nearest written outline")
def a_hole_of_the_svg_dropped(place):
    with svg(place) as root:
        group(root, "shadow").remove(a_hole(root, "shadow"))


@damage(Promise.FIGURES, "carve.dxf", "shadows")
def a_shadow_of_the_dxf_dropped(place):
    with dxf(place) as document:
        document.modelspace().delete_entity(entities(document, "shadow")[-1])


@damage(Promise.FAITHFUL, "carve.svg", "off the design")
def a_sweep_flag_flipped(place):
    with svg(place) as root:
        path = largest((p for p in group(root, "shadow") if " A " in p.get("d")), least_pieces=4)
        start, parts, closed = pieces(path.get("d"))
        chords = [
            abs(end - begin)
            for begin, end in zip([start, *(p[4] for p in parts[:-1])], [p[4] for p in parts], strict=True)
        ]
        arc = max((i for i, p in enumerate(parts) if p[0] == "A"), key=lambda i: chords[i])
        command, radius, large, sweep, end = parts[arc]
        parts[arc] = (command, radius, large, "01"[sweep == "0"], end)
        path.set("d", data(start, parts, closed))


@damage(Promise.FAITHFUL, "carve.dxf", "off the design")
def a_bulge_sign_flipped(place):
    with dxf(place) as document:
        lines = entities(document, "shadow")
        places = ((e, i) for e in lines if len(e) > 3 for i in range(len(e)))
        line, index = max(places, key=lambda place: abs(place[0][place[1]][4]))
        row = line[index]
        line[index] = (*row[:4], -row[4])


@damage(Promise.FAITHFUL, "carve.dxf", "off the design")
def all_bulges_lost(place):
    with dxf(place) as document:
        for line in entities(document, "shadow"):
            line.set_points([(x, y) for x, y, *_ in line.get_points()], format="xy")


@damage(Promise.SOUND, "carve.svg", "is open")
def a_ring_of_the_svg_opened(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        start, parts, _ = pieces(path.get("d"))
        path.set("d", data(start, parts[:-1], closed=False))


@damage(Promise.SOUND, "carve.dxf", "is open")
def a_ring_of_the_dxf_not_marked_closed(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].closed = False


@damage(Promise.SOUND, "carve.dxf", "is open")
def no_ring_of_the_dxf_marked_closed(place):
    with dxf(place) as document:
        for line in entities(document, "shadow"):
            line.closed = False


@damage(Promise.SOUND, "carve.svg", "crosses or touches itself")
def a_ring_tied_into_a_loop(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"), least_pieces=4)
        start, parts, closed = pieces(path.get("d"))
        far = parts[len(parts) // 2][4]
        lines = [("L", "", "", "", z) for z in (far, start + (far - start) * 1j / 4, far + (start - far) * 1j / 4)]
        path.set("d", data(start, lines, closed))


@damage(Promise.SOUND, "carve.svg", "two rings cross")
def a_pocket_pushed_over_another_ring(place):
    with svg(place) as root:
        holder = group(root, "pocket")
        path = largest(holder)
        holder.append(ElementTree.fromstring(ElementTree.tostring(path)))
        holder[-1].set("d", moved(path.get("d"), 1.0))


@damage(Promise.SOUND, "carve.svg", "appears twice")
def a_path_of_the_svg_doubled(place):
    with svg(place) as root:
        holder = group(root, "cutter-path")
        holder.append(ElementTree.fromstring(ElementTree.tostring(holder[0])))


@damage(Promise.SOUND, "carve.dxf", "appears twice")
def a_v_line_of_the_dxf_doubled(place):
    with dxf(place) as document:
        document.modelspace().add_entity(entities(document, "v-line")[0].copy())


@damage(Promise.SOUND, "carve.dxf", "no length")
def a_vertex_doubled(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        x, y, _ = line.get_points("xyb")[1]
        line.insert(1, (x, y, 0, 0, 0))


@damage(Promise.SOUND, "carve.svg", "elliptical")
def an_arc_made_elliptical(place):
    with svg(place) as root:
        path = largest(p for p in group(root, "shadow") if " A " in p.get("d"))
        found = re.search(r"A (\S+) (\S+)", path.get("d"))
        path.set("d", path.get("d").replace(found[0], f"A {found[1]} {float(found[2]) * 1.5}", 1))


@damage(Promise.COMPLETE, "command C", "only M, L, A and Z")
def a_curve_of_another_kind(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", "M 10 10 C 20 10 20 20 10 20 Z")


@damage(Promise.TRUE_SIZE, "carve.svg", "longer than an edge without dents")
def a_slit_in_the_boards_edge(place):
    """Draw a hairline 20 mm into the board, in both files alike."""
    slit = [(60.001, 0.0), (60.0, 20.0), (59.999, 0.0)]
    with dxf(place) as document:
        (edge,) = entities(document, "plaque-edge")
        points = list(edge.get_points("xy"))
        corner = next(i for i, (x, y) in enumerate(points) if (x, y) == (0.0, 0.0))
        edge.set_points([*points[: corner + 1], *reversed(slit), *points[corner + 1 :]], format="xy")
        ring = list(edge.get_points("xy"))
    with svg(place) as root:
        path = group(root, "plaque-edge")[0]
        path.set("d", "M " + " L ".join(f"{x:g} {100 - y:g}" for x, y in ring) + " Z")
