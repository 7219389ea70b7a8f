"""Sheets whose edge would be cut before what lies in them, or isn't that of the sheet."""

from __future__ import annotations

from pathlib import Path

from shadowrout.check.findings import Promise
from spoil.handles import damage, dxf, entities, group, svg


def _edge_first(place: Path, stem: str) -> None:
    """Move the edge's layer before all others in the SVG, and the edge's entities in the DXF."""
    with svg(place, f"{stem}.svg") as root:
        edge = group(root, "sheet-edge")
        root.remove(edge)
        root.insert(list(root).index(group(root, "opening")), edge)
    with dxf(place, f"{stem}.dxf") as document:
        entities = document.modelspace().entity_space.entities
        entities.sort(key=lambda entity: entity.dxf.layer.lower() != "sheet-edge")


@damage(Promise.MARKED, "stencil.svg", "an opening comes after the sheet's edge", whole="made")
def the_edge_of_a_stencil_cut_first(place):
    _edge_first(place, "stencil")


@damage(Promise.MARKED, "template.dxf", "a dowel hole comes after the sheet's edge", whole="made")
def the_edge_of_a_template_cut_first(place):
    _edge_first(place, "template")


@damage(Promise.MARKED, "kerf-test.svg", "an opening comes after the sheet's edge", whole="made")
def the_edge_of_the_kerf_test_cut_first(place):
    _edge_first(place, "kerf-test")


@damage(Promise.FAITHFUL, "stencil.svg", "the sheet's edge runs 5", whole="made")
def a_notch_in_the_edge_of_a_stencil(place):
    """Cut 5 mm into the side that the board may be laid against, in both files alike."""
    with dxf(place, "stencil.dxf") as document:
        (edge,) = entities(document, "sheet-edge")
        (x0, y0), (x1, y1) = min(edge.get_points("xy")), max(edge.get_points("xy"))
        middle = (x0 + x1) / 2
        notch = [(middle - 5, y0), (middle - 5, y0 + 5), (middle + 5, y0 + 5), (middle + 5, y0)]
        edge.set_points([(x0, y0), *notch, (x1, y0), (x1, y1), (x0, y1)], format="xy")
    with svg(place, "stencil.svg") as root:
        path = group(root, "sheet-edge")[0]
        points = [(x0, y0), *notch, (x1, y0), (x1, y1), (x0, y1)]
        path.set("d", "M " + " L ".join(f"{x:g} {y0 + y1 - y:g}" for x, y in points) + " Z")
