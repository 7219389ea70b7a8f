"""Damages to pockets, their depths and notes, and to the flow lines in their floors."""

from __future__ import annotations

import re

from ezdxf.path import make_path

from shadowrout.check.findings import Promise
from spoil.both_files import damage_in_each
from spoil.handles import DAMAGES, SVG, Damage, a_hole, entities, figures, group, mark, moved, svg

# SVG groups and DXF layers of one role, the shallower first


def _groups(root, role: str) -> list:
    return [g for g in root.iter(f"{SVG}g") if g.get("data-role") == role]


def _layers(document, role: str) -> list[str]:
    return list(dict.fromkeys(entity.dxf.layer for entity in entities(document, role)))


def _on(document, layer: str) -> list:
    return [entity for entity in document.modelspace() if entity.dxf.layer == layer]


def _drop_hole_svg(root) -> None:
    holder = group(root, "pocket")
    holder.remove(a_hole(root, "pocket"))


def _drop_hole_dxf(document) -> None:
    hole = next(line for line in entities(document, "pocket") if _turn(line) < 0)
    document.modelspace().delete_entity(hole)


def _turn(line) -> float:
    """Return the sign of the area that a polyline encloses, arcs included: below 0 for a hole."""
    points = [(p.x, p.y) for p in make_path(line).flattening(0.01)]
    rolled = points[1:] + points[:1]
    return sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, rolled, strict=True))


damage_in_each(
    Promise.NO_GOUGE,
    "a wall encloses wood that the 3 mm cutter leaves",
    in_svg=_drop_hole_svg,
    in_dxf=_drop_hole_dxf,
    name="holes_of_the_walls_dropped",
)


# The island's wall, a circle of 2.8 mm about (35, 50), drawn with 0.8 mm: as far inside its path as it was outside.


def _shrink_svg(root) -> None:
    path = next(p for p in group(root, "pocket") if "37.8 " in p.get("d"))
    path.set("d", re.sub(r"\b2\.8\b", "0.8", path.get("d")).replace("37.8", "35.8").replace("32.2", "34.2"))


def _shrink_dxf(document) -> None:
    line = next(x for x in entities(document, "pocket") if abs(x.get_points("xy")[0][0] - 37.8) < 0.001)
    line.set_points([(35 + (x - 35) / 3.5, y, b) for x, y, b in line.get_points("xyb")], format="xyb")


damage_in_each(
    Promise.NO_GOUGE,
    "off where the 3 mm cutter's edge ends",
    in_svg=_shrink_svg,
    in_dxf=_shrink_dxf,
    name="a_wall_shrunk",
)


def _drop_pocket_svg(root) -> None:
    for role in ("pocket", "cutter-path"):
        holder = _groups(root, role)[-1]
        holder.remove(holder[0])


def _drop_pocket_dxf(document) -> None:
    for role in ("pocket", "cutter-path"):
        document.modelspace().delete_entity(_on(document, _layers(document, role)[-1])[0])


damage_in_each(
    Promise.STAYS_DARK,
    "from every cut stays light",
    in_svg=_drop_pocket_svg,
    in_dxf=_drop_pocket_dxf,
    whole="floors",
    name="a_pocket_with_its_path_dropped",
)


def _relayer(role: str):
    """Return edits that move a shape of a role from the layer of one depth to that of another."""

    def in_svg(root) -> None:
        shallow, deep = _groups(root, role)
        deep.append(shallow[0])
        shallow.remove(shallow[0])

    def in_dxf(document) -> None:
        shallow, deep = _layers(document, role)
        depth = -_on(document, deep)[0].dxf.elevation
        line = _on(document, shallow)[0]
        line.dxf.layer, line.dxf.elevation = deep, -depth
        mark(line, depth_mm=depth)

    return in_svg, in_dxf


_wall, _path = _relayer("pocket"), _relayer("cutter-path")
damage_in_each(
    Promise.STAYS_DARK,
    "a pocket's wall is",
    "the path of its 3 mm cutter",
    in_svg=_wall[0],
    in_dxf=_wall[1],
    whole="floors",
    name="a_wall_on_the_layer_of_another_depth",
)
damage_in_each(
    Promise.FIGURES,
    "is not at its place",
    in_svg=lambda root: (_wall[0](root), _path[0](root)),
    in_dxf=lambda document: (_wall[1](document), _path[1](document)),
    whole="floors",
    name="a_pocket_on_the_layers_of_another_depth",
)


def _times(name: str, factor: float) -> str:
    return re.sub(
        r"\d+_\d+", lambda m: f"{factor * float(m[0].replace('_', '.')):.2f}".replace(".", "_"), name, count=1
    )


def _triple_svg(root) -> None:
    for role in ("pocket", "cutter-path"):
        for holder in _groups(root, role):
            holder.set("id", _times(holder.get("id"), 3))
            for element in (holder, *holder):
                if depth := element.get("data-depth-mm"):
                    element.set("data-depth-mm", f"{3 * float(depth):g}")


def _triple_dxf(document) -> None:
    for role in ("pocket", "cutter-path"):
        for line in entities(document, role):
            line.dxf.elevation *= 3
            mark(line, depth_mm=-line.dxf.elevation)
        for layer in _layers(document, role):
            document.layers.get(layer).rename(_times(layer, 3))


damage_in_each(
    Promise.FIGURES,
    "9 mm deep, job.toml asks for 3 mm",
    in_svg=_triple_svg,
    in_dxf=_triple_dxf,
    name="all_depths_tripled",
)


def _texts(root) -> list:
    return [text for text in group(root, "note") if text.tag == f"{SVG}text"]


def _swap_svg(root) -> None:
    one, other = ([t for t in _texts(root) if t.text.startswith(f"{n}:")] for n in (1, 2))
    places = [[(t.get("x"), t.get("y")) for t in texts] for texts in (one, other)]
    for texts, (x, y) in ((one, places[1][0]), (other, places[0][0])):
        for text in texts:
            text.set("x", x)
            text.set("y", y)


def _swap_dxf(document) -> None:
    texts = [t for t in entities(document, "note") if t.dxftype() == "TEXT"]
    one, other = ([t for t in texts if t.dxf.text.startswith(f"{n}:")] for n in (1, 2))
    here, there = one[0].dxf.align_point, other[0].dxf.align_point
    for group_, place in ((one, there), (other, here)):
        for text in group_:
            text.dxf.align_point = place


damage_in_each(
    Promise.FIGURES,
    "the note of pocket 1: it stands at another place",
    in_svg=_swap_svg,
    in_dxf=_swap_dxf,
    name="notes_swapped",
)


def _mirror_svg(root) -> None:
    for text in _texts(root):
        text.set("x", f"{120 - float(text.get('x')):g}")


def _mirror_dxf(document) -> None:
    for text in entities(document, "note"):
        x, y, _ = text.dxf.align_point
        text.dxf.align_point = (120 - x, y)


damage_in_each(
    Promise.FIGURES,
    "the note of pocket 2: it stands at another place",
    in_svg=_mirror_svg,
    in_dxf=_mirror_dxf,
    name="notes_mirrored",
)


# Flow lines


def _flow_marks(**values: float):
    """Return edits that change the marks of all flow lines, and the elevation with the depth."""

    def in_svg(root) -> None:
        for holder in _groups(root, "flow-line"):
            for name, value in values.items():
                holder.set(f"data-{name.replace('_', '-')}", f"{value:g}")

    def in_dxf(document) -> None:
        for line in entities(document, "flow-line"):
            mark(line, **values)
            line.dxf.elevation = -values.get("depth_mm", -line.dxf.elevation)

    return in_svg, in_dxf


for _name, _words, _values in (
    ("25_8_mm_deep", "goes through the board of 18 mm", {"depth_mm": 25.8, "below_floor_mm": 20.0}),
    ("as_deep_as_the_floor", "it cuts nothing", {"depth_mm": 3.0}),
    ("deeper_than_they_say", "says it goes", {"depth_mm": 6.5}),
    ("wider_than_the_tool_makes", "mm wide, and says", {"width_mm": 2.0}),
    ("that_leave_too_little_of_the_board", "must be left", {"depth_mm": 13.0}),
):
    _edit = _flow_marks(**_values)
    damage_in_each(
        Promise.STAYS_DARK, _words, in_svg=_edit[0], in_dxf=_edit[1], whole="floors", name=f"flow_lines_{_name}"
    )


def _move_flow_svg(root) -> None:
    for holder in _groups(root, "flow-line"):
        for path in holder:
            path.set("d", moved(path.get("d"), -25.0))


def _move_flow_dxf(document) -> None:
    for line in entities(document, "flow-line"):
        line.set_points([(x - 25, y, b) for x, y, b in line.get_points("xyb")], format="xyb")


damage_in_each(
    Promise.NO_GOUGE,
    "a flow line runs",
    "out of its pocket",
    in_svg=_move_flow_svg,
    in_dxf=_move_flow_dxf,
    whole="floors",
    name="flow_lines_moved_onto_the_face",
)


def _drop_flow_svg(root) -> None:
    holder = group(root, "flow-line")
    holder.remove(holder[0])


def _drop_flow_dxf(document) -> None:
    document.modelspace().delete_entity(entities(document, "flow-line")[0])


damage_in_each(
    Promise.FIGURES,
    "flow lines, numbers.json tells of",
    in_svg=_drop_flow_svg,
    in_dxf=_drop_flow_dxf,
    whole="floors",
    name="a_flow_line_dropped",
)


def _all_told_at_another_depth(place) -> None:
    """Have the smallest pocket as deep as the broad one in all files, numbers.json and its note."""
    with svg(place) as root:
        small, big = (_groups(root, role) for role in ("pocket", "cutter-path"))
        for shallow, deep in (small, big):
            path = shallow[-1]
            shallow.remove(path)
            deep.append(path)
        for text in _texts(root):
            text.text = text.text.replace("3: wall, depth 3", "3: wall, depth 5").replace("3: depth 3", "3: depth 5")
    with figures(place) as told:
        told["plaques"][0]["pockets"][2]["depth_mm"] = 5.0


DAMAGES.append(
    Damage(
        "a_narrow_pocket_as_deep_as_broad_ones_wherever_it_is_told",
        _all_told_at_another_depth,
        Promise.FIGURES,
        ("carve.svg", "job.toml has pockets go deeper from 25 mm on"),
        "floors",
    )
)


def _a_place_moved(place) -> None:
    with figures(place) as told:
        told["plaques"][0]["pockets"][0]["place_mm"] = [2.0, 2.0]


DAMAGES.append(
    Damage("a_pocket_told_at_another_place", _a_place_moved, Promise.FIGURES, ("is not at its place",), "made")
)
