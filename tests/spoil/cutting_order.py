"""Sheets whose edge would be cut before what lies in them."""

from __future__ import annotations

from pathlib import Path

from shadowrout.check.findings import Promise
from spoil.handles import damage, dxf, group, svg


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
