"""Damages to a router template, found where the job's bush is rolled round its openings."""

from __future__ import annotations

from pathlib import Path

from shadowrout.check.findings import Promise
from spoil.handles import damage, dxf, entities, group, largest, moved, pieces, replace_text, svg

BIT_TAKES = ("6 mm bit takes", "outside the shadow")


def _move_openings(place: Path, name: str, shift: complex) -> None:
    """Move all openings of a sheet in both its files; ``shift`` has y up."""
    with svg(place, f"{name}.svg") as root:
        for path in group(root, "opening"):
            path.set("d", moved(path.get("d"), shift.conjugate()))
    with dxf(place, f"{name}.dxf") as document:
        for line in entities(document, "opening"):
            points = [(x + shift.real, y + shift.imag, b) for x, y, b in line.get_points("xyb")]
            line.set_points(points, format="xyb")


def _enlarge_openings(place: Path, name: str, scale: float) -> None:
    """Enlarge each opening of a sheet about its own middle, in its DXF."""
    with dxf(place, f"{name}.dxf") as document:
        for line in entities(document, "opening"):
            points = line.get_points("xyb")
            x0, y0 = (sum(p[axis] for p in points) / len(points) for axis in (0, 1))
            line.set_points([(x0 + scale * (x - x0), y0 + scale * (y - y0), b) for x, y, b in points], format="xyb")


@damage(Promise.NO_GOUGE, "template.dxf", *BIT_TAKES, whole="made")
def a_templates_openings_moved_in_both_files(place):
    _move_openings(place, "template", 1.2 + 0.5j)


@damage(Promise.NO_GOUGE, "template-2.dxf", *BIT_TAKES, whole="made")
def a_templates_openings_enlarged_in_one_file(place):
    _enlarge_openings(place, "template-2", 1.08)


@damage(Promise.NO_GOUGE, "template.svg", *BIT_TAKES, whole="made")
def a_corner_of_a_templates_opening_pulled_out(place):
    with svg(place, "template.svg") as root:
        path = largest(group(root, "opening"))
        start, parts, _ = pieces(path.get("d"))
        furthest = max(range(len(parts) - 1), key=lambda i: abs(parts[i][4] - start))
        away = parts[furthest][4] - start
        path.set("d", moved(path.get("d"), away / abs(away) * 6.0, only=furthest))


@damage(Promise.NO_GOUGE, "template-3.svg", *BIT_TAKES, whole="made")
def an_opening_in_the_light_added_to_a_template(place):
    with svg(place, "template-3.svg") as root:
        layer = group(root, "opening")
        hole = layer.makeelement(layer[0].tag, {"d": "M 15 105 A 5.5 5.5 0 0 1 26 105 A 5.5 5.5 0 0 1 15 105 Z"})
        layer.append(hole)


@damage(Promise.NO_GOUGE, "8 mm bush goes round", whole="made")
def the_jobs_bush_smaller_than_its_templates(place):
    replace_text(place.parent, "job.toml", 'bush = "10mm"', 'bush = "8mm"')


@damage(Promise.NO_GOUGE, "8 mm bit takes", whole="made")
def the_jobs_bit_larger_than_its_templates(place):
    replace_text(place.parent, "job.toml", 'bit = "6mm"', 'bit = "8mm"')


@damage(Promise.FIGURES, "the bush", "job.toml", whole="made")
def the_jobs_bush_larger_than_its_templates(place):
    replace_text(place.parent, "job.toml", 'bush = "10mm"', 'bush = "12mm"')


@damage(Promise.FIGURES, "template.svg", "the job's bush, 10 mm", whole="made")
def the_words_of_a_template_tell_a_smaller_bush(place):
    replace_text(place, "template.svg", ">bush 10.0 mm, bit 6.0 mm", ">bush 8.0 mm, bit 6.0 mm")


@damage(Promise.FIGURES, "template-2.dxf", "the job's bush, 10 mm", whole="made")
def the_words_of_a_template_tell_a_larger_bit(place):
    replace_text(place, "template-2.dxf", "bush 10.0 mm, bit 6.0 mm", "bush 10.0 mm, bit 8.0 mm")
