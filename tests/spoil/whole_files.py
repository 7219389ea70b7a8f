"""Files that are missing, cut off or not readable."""

from __future__ import annotations

import re
from pathlib import Path

from shadowrout.check.findings import Promise
from spoil.handles import damage, dxf, entities, figures, group, largest, svg


@damage(Promise.COMPLETE, "carve.svg", "cut off or damaged")
def the_svg_truncated(place):
    content = (place / "carve.svg").read_bytes()
    (place / "carve.svg").write_bytes(content[: len(content) * 2 // 3])


@damage(Promise.COMPLETE, "carve.dxf", "cut off")
def the_dxf_truncated(place):
    content = (place / "carve.dxf").read_bytes()
    (place / "carve.dxf").write_bytes(content[: len(content) * 2 // 3])


@damage(Promise.COMPLETE, "carve.dxf", "cut off")
def the_last_line_of_the_dxf_lost(place):
    content = (place / "carve.dxf").read_bytes().rstrip().removesuffix(b"EOF")
    (place / "carve.dxf").write_bytes(content)


@damage(Promise.COMPLETE, "path data ends within")
def a_path_cut_off(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", " ".join(path.get("d").split()[:-2]))


@damage(Promise.COMPLETE, "carve.svg", "is missing")
def the_svg_missing(place):
    (place / "carve.svg").unlink()


@damage(Promise.COMPLETE, "carve.dxf", "is empty")
def the_dxf_emptied(place):
    (place / "carve.dxf").write_bytes(b"")


@damage(Promise.COMPLETE, "carve.dxf", "can't be read as DXF")
def the_dxf_replaced_by_noise(place):
    (place / "carve.dxf").write_bytes(bytes(range(256)) * 20)


def _replace_once(place: Path, pattern: str, new: str) -> None:
    """Put ``new`` in place of the first match in carve.dxf, read as text."""
    text = (place / "carve.dxf").read_text(encoding="utf-8")
    changed, count = re.subn(pattern, new, text, count=1)
    assert count, f"carve.dxf has no {pattern!r} to spoil"
    (place / "carve.dxf").write_text(changed, encoding="utf-8")


@damage(Promise.COMPLETE, "carve.dxf", "two of its records have one handle")
def a_handle_of_the_dxf_given_twice(place):
    _replace_once(place, r"(LWPOLYLINE\n +5\n)(\w+)\n((?s:.*?)LWPOLYLINE\n +5\n)\w+\n", r"\1\2\n\3\2\n")


@damage(Promise.COMPLETE, "carve.dxf", "belong to a record that is not there (handle FFFF)")
def the_owner_of_an_entity_of_the_dxf_lost(place):
    _replace_once(place, r"(LWPOLYLINE\n +5\n\w+\n330\n)\w+", r"\1FFFF")


@damage(Promise.COMPLETE, "layer plaque-edge: a LWPOLYLINE has 4 vertices and says 5")
def the_count_of_vertices_changed(place):
    _replace_once(place, r"(AcDbPolyline\n +90\n)4\n", r"\g<1>5\n")


@damage(Promise.COMPLETE, "carve.dxf", "can't be read as DXF")
def the_end_of_a_line_in_space_lost(place):
    _replace_once(place, r"  0\nSEQEND\n[^L]*?(?=  0\n)", "")


@damage(Promise.COMPLETE, "carve.dxf", "can't be read as DXF")
def the_end_of_a_section_lost(place):
    _replace_once(place, r"  0\nENDSEC\n(?=  0\nEOF)", "")


@damage(Promise.COMPLETE, "isn't finite")
def a_coordinate_that_is_no_number(place):
    with dxf(place) as document:
        line = entities(document, "shadow")[0]
        line[0] = (float("nan"), *line[0][1:])


@damage(Promise.COMPLETE, "left over from an interrupted run")
def a_half_written_file_left(place):
    (place / ".shadowrout-0123abcd.part").write_bytes(b"half")


@damage(Promise.COMPLETE, "preview.png", "no whole PNG")
def a_picture_cut_off(place):
    (place / "preview.png").write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    with figures(place) as told:
        told["plaques"][0]["files"].append("preview.png")


@damage(Promise.COMPLETE, "pattern.pdf", "no whole PDF")
def a_pattern_cut_off(place):
    (place / "pattern.pdf").write_bytes(b"%PDF-1.7\n1 0 obj")
    with figures(place) as told:
        told["plaques"][0]["files"].append("pattern.pdf")


@damage(Promise.FAITHFUL, "design.wkb.gz", "missing")
def the_design_missing(place):
    (place / "design.wkb.gz").unlink()


@damage(Promise.FAITHFUL, "design.wkb.gz", "can't be read")
def the_design_truncated(place):
    content = (place / "design.wkb.gz").read_bytes()
    (place / "design.wkb.gz").write_bytes(content[: len(content) // 2])
