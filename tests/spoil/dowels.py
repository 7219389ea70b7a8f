"""Damages to dowel holes: on the board's drawing, a stencil and a template's sheets, in one file or in both."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

from shadowrout.check.findings import Promise
from spoil.handles import DAMAGES, SVG, Damage, damage, dxf, entities, figures, group, svg
from spoil.sheets import WAYS

DRAWINGS = ("carve", "stencil", "template-2")
Hole = tuple[float, float, float]
"""Middle and radius; y as in the file."""


def of_each_drawing(promise: Promise, *words: str):
    """Register a damage to the hole of mark A, at (4, 4), on each drawing; ``spoil`` returns what becomes of it."""

    def register(spoil: Callable[[Hole], Hole | None]):
        for name in DRAWINGS:
            for way, endings in WAYS.items():

                def run(place: Path, name: str = name, endings: tuple[str, ...] = endings) -> None:
                    for ending in endings:
                        (_in_svg if ending == "svg" else _in_dxf)(place, f"{name}.{ending}", spoil)

                of = f"{spoil.__name__}_on_{name}_in_the_{way}"
                DAMAGES.append(Damage(of, run, promise, (name, *words), "made"))
        return spoil

    return register


def _in_svg(place: Path, name: str, spoil: Callable[[Hole], Hole | None]) -> None:
    with svg(place, name) as root:
        holder = group(root, "register")
        (circle,) = [
            c for c in holder.findall(f"{SVG}circle") if (float(c.get("cx")), float(c.get("cy"))) == (4.0, 113.0)
        ]
        left = spoil((4.0, 113.0, float(circle.get("r"))))
        if left is None:
            holder.remove(circle)
        else:
            for key, value in zip(("cx", "cy", "r"), left, strict=True):
                circle.set(key, f"{value:g}")


def _in_dxf(place: Path, name: str, spoil: Callable[[Hole], Hole | None]) -> None:
    with dxf(place, name) as document:
        circles = [e for e in entities(document, "register") if e.dxftype() == "CIRCLE"]
        (circle,) = [c for c in circles if math.dist((c.dxf.center.x, c.dxf.center.y), (4, 4)) < 0.01]
        left = spoil((4.0, 4.0, circle.dxf.radius))
        if left is None:
            document.modelspace().delete_entity(circle)
        else:
            circle.dxf.center, circle.dxf.radius = (left[0], left[1], circle.dxf.center.z), left[2]


@of_each_drawing(Promise.FAITHFUL, "dowel hole A lies 0.500 mm off its place")
def a_dowel_hole_moved_by_half_a_millimetre(hole):
    return hole[0] + 0.5, hole[1], hole[2]


@of_each_drawing(Promise.FAITHFUL, "dowel hole A is missing here")
def a_dowel_hole_moved_into_the_face(hole):
    return 75.0, 60.0, hole[2]


@of_each_drawing(Promise.FAITHFUL, "dowel hole A is", "mm across, not")
def a_dowel_hole_enlarged(hole):
    return hole[0], hole[1], hole[2] * 1.25


@of_each_drawing(Promise.FAITHFUL, "dowel hole A is missing here")
def a_dowel_hole_dropped(hole):
    return None


@damage(Promise.FAITHFUL, "carve.svg", "a hole is no register mark's", whole="made")
def a_dowel_hole_more(place):
    with svg(place) as root:
        holder = group(root, "register")
        holder.append(holder.makeelement(f"{SVG}circle", {"cx": "146", "cy": "4", "r": "2"}))


@damage(Promise.FAITHFUL, "from the board's edge, 4 mm are asked for", whole="made")
def a_mark_told_in_the_middle_of_the_face(place):
    with figures(place) as told:
        told["plaques"][0]["register"]["marks"][0] |= {"x_mm": 75.0, "y_mm": 58.5}


@damage(Promise.FAITHFUL, "dowel hole A lies in the design", whole="made")
def a_mark_told_in_the_design(place):
    with figures(place) as told:
        told["plaques"][0]["register"]["marks"][0] |= {"x_mm": 105.0, "y_mm": 80.0}


@damage(Promise.FIGURES, "the dowel is 6.0 in numbers.json, 4.0 in job.toml", whole="made")
def another_dowel_told(place):
    with figures(place) as told:
        told["plaques"][0]["register"]["dowel_mm"] = 6.0


@damage(Promise.FIGURES, "numbers.json tells of 2 register marks", whole="made")
def a_mark_not_told(place):
    with figures(place) as told:
        del told["plaques"][0]["register"]["marks"][2]


@damage(Promise.FIGURES, "the marks A and B are 142.000 mm apart", whole="made")
def another_distance_of_two_marks_told(place):
    with figures(place) as told:
        told["plaques"][0]["register"]["distances"][0]["length_mm"] = 143.0


@damage(Promise.MARKED, "template.svg", "the name B stands beside dowel hole A", whole="made")
def the_names_of_two_dowel_holes_exchanged(place):
    with svg(place, "template.svg") as root:
        texts = {t.text: t for t in group(root, "note").findall(f"{SVG}text") if t.text in ("A", "B")}
        texts["A"].text, texts["B"].text = "B", "A"


@damage(Promise.MARKED, "stencil.svg", "dowel hole C has no name beside it", whole="made")
def the_name_of_a_dowel_hole_removed(place):
    with svg(place, "stencil.svg") as root:
        holder = group(root, "note")
        holder.remove(next(t for t in holder if t.text == "C"))


@damage(Promise.FAITHFUL, "carve.svg", "a line of a register cross isn't on its mark's middle", whole="made")
def a_register_cross_moved(place):
    with svg(place) as root:
        path = group(root, "register").find(f"{SVG}path")
        path.set("d", path.get("d").replace("113", "115"))


@damage(Promise.FAITHFUL, "carve.dxf", "the cross of dowel hole", "isn't whole", whole="made")
def all_crosses_of_the_board_dropped(place):
    with svg(place) as root:
        layer = group(root, "register")
        for line in [line for line in layer if line.tag == f"{SVG}path"]:
            layer.remove(line)
    with dxf(place) as document:
        for line in entities(document, "register"):
            if line.dxftype() not in ("CIRCLE", "TEXT"):
                document.modelspace().delete_entity(line)
