"""Damages by what a file may hold beside its outlines: styles, clips, links, blocks, extrusions, sheets of paper."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from shadowrout.check.findings import Promise
from spoil.handles import SVG, damage, dxf, entities, group, mark, replace_text, svg


def _wrapped(place, tag: str, **attributes: str) -> None:
    """Put the layer of shadows into an element of its own."""
    with svg(place) as root:
        shadow = group(root, "shadow")
        index = list(root).index(shadow)
        root.remove(shadow)
        holder = ElementTree.Element(tag if "}" in tag else SVG + tag, attributes)
        holder.append(shadow)
        root.insert(index, holder)


def _first_shadow_has(place, **attributes: str) -> None:
    with svg(place) as root:
        for name, value in attributes.items():
            group(root, "shadow")[0].set(name.replace("_", "-"), value)


@damage(Promise.MARKED, "layer shadow", "attribute style (opacity: 0)")
def a_shadow_with_a_style(place):
    _first_shadow_has(place, style="opacity: 0")


@damage(Promise.MARKED, "layer shadow", "attribute class (thin)")
def a_shadow_with_a_class(place):
    _first_shadow_has(place, **{"class": "thin"})


@damage(Promise.MARKED, "layer shadow", "attribute clip-path")
def a_shadow_with_a_clip_path(place):
    _first_shadow_has(place, clip_path="url(#half)")


@damage(Promise.MARKED, "layer shadow", "attribute mask")
def a_shadow_with_a_mask(place):
    _first_shadow_has(place, mask="url(#half)")


@damage(Promise.MARKED, "layer shadow", "attribute opacity (0)")
def a_shadow_that_lets_all_light_through(place):
    _first_shadow_has(place, opacity="0")


@damage(Promise.MARKED, "layer shadow", "attribute stroke (none)")
def a_shadow_without_a_line(place):
    _first_shadow_has(place, stroke="none")


@damage(Promise.MARKED, "layer shadow", "stroke (#ffffff)", "isn't seen")
def a_layer_drawn_white(place):
    with svg(place) as root:
        group(root, "shadow").set("stroke", "#ffffff")


@damage(Promise.MARKED, "layer shadow", "stroke-width (8)", "isn't seen as a line")
def a_layer_drawn_too_wide(place):
    with svg(place) as root:
        group(root, "shadow").set("stroke-width", "8")


@damage(Promise.MARKED, "holds a style in its svg")
def a_style_sheet_in_the_svg(place):
    with svg(place) as root:
        sheet = ElementTree.Element(f"{SVG}style")
        sheet.text = "path { display: none }"
        root.insert(0, sheet)


@damage(Promise.MARKED, "an instruction to other programs (xml-stylesheet")
def a_style_sheet_called_by_the_svg(place):
    replace_text(place, "carve.svg", "<svg", '<?xml-stylesheet href="a.css"?><svg', count=1)


@damage(Promise.MARKED, "holds a script in its svg")
def a_script_in_the_svg(place):
    with svg(place) as root:
        ElementTree.SubElement(root, f"{SVG}script").text = "1"


@damage(Promise.MARKED, "holds a symbol in its defs")
def a_definition_in_the_svg(place):
    with svg(place) as root:
        ElementTree.SubElement(root.find(f"{SVG}defs"), f"{SVG}symbol")


@damage(Promise.MARKED, "layer shadow holds a use in its g")
def a_reference_to_a_shape_in_the_svg(place):
    with svg(place) as root:
        ElementTree.SubElement(group(root, "shadow"), f"{SVG}use", {"href": "#shadow"})


@damage(Promise.MARKED, "holds a a in its svg")
def a_layer_within_a_link(place):
    _wrapped(place, "a")


@damage(Promise.MARKED, "holds a switch in its svg")
def a_layer_within_a_switch(place):
    _wrapped(place, "switch")


@damage(Promise.TRUE_SIZE, "viewBox (0 0 60 50) on svg moves or scales")
def a_layer_within_a_drawing_of_its_own(place):
    _wrapped(place, "svg", viewBox="0 0 60 50")


@damage(Promise.MARKED, "holds a svg in its svg")
def a_layer_within_a_drawing_in_its_place(place):
    _wrapped(place, "svg")


@damage(Promise.MARKED, "holds a frame in its svg")
def a_layer_within_an_element_of_another_namespace(place):
    _wrapped(place, "{urn:other}frame")


@damage(Promise.MARKED, "layer shadow holds a g in its g")
def a_group_within_a_layer(place):
    with svg(place) as root:
        shadow = group(root, "shadow")
        inner = ElementTree.SubElement(shadow, f"{SVG}g")
        inner.append(shadow[0])
        shadow.remove(shadow[0])


@damage(Promise.MARKED, "layer (no name) has no role's name")
def a_shape_beside_the_layers(place):
    with svg(place) as root:
        shadow = group(root, "shadow")
        root.append(shadow[0])
        shadow.remove(shadow[0])


@damage(Promise.TRUE_SIZE, "a transform (translate(0 1)) on svg moves or scales")
def a_transform_of_the_root(place):
    with svg(place) as root:
        root.set("transform", "translate(0 1)")


@damage(Promise.TRUE_SIZE, "preserveAspectRatio (none)")
def another_aspect_of_the_svg(place):
    with svg(place) as root:
        root.set("preserveAspectRatio", "none")


@damage(Promise.TRUE_SIZE, "carve.svg", "the page", "was asked for")
def a_view_box_that_begins_elsewhere(place):
    with svg(place) as root:
        _, _, *size = root.get("viewBox").split()
        root.set("viewBox", " ".join(["3", "0", *size]))


@damage(Promise.MARKED, "holds a document type (svg)")
def a_document_type_in_the_svg(place):
    replace_text(place, "carve.svg", "<svg", '<!DOCTYPE svg SYSTEM "svg11.dtd"><svg', count=1)


@damage(Promise.COMPLETE, "declares a text of its own to be put in (a)")
def entities_that_grow_in_the_svg(place):
    laughs = "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    doctype = f'<!DOCTYPE svg [<!ENTITY a "haha">{laughs}]><svg'
    replace_text(place, "carve.svg", "<svg", doctype, count=1)


@damage(Promise.COMPLETE, "carve.svg", "groups within groups")
def groups_within_groups_without_end(place):
    replace_text(place, "carve.svg", "</svg>", "<g>" * 50_000 + "</g>" * 50_000 + "</svg>")


@damage(Promise.COMPLETE, "path data holds the number 1e+300")
def an_arc_of_endless_radius(place):
    with svg(place) as root:
        path = next(p for p in group(root, "shadow") if " A " in p.get("d"))
        path.set("d", re.sub(r"A \S+ \S+", "A 1e300 1e300", path.get("d"), count=1))


@damage(Promise.COMPLETE, "a path has more than 500000 pieces")
def a_path_of_a_million_vertices(place):
    with svg(place) as root:
        group(root, "shadow")[0].set("d", "M 1 1" + " 2 2 1 1" * 500_000)


@damage(Promise.TRUE_SIZE, "its shadow lines are longer than")
def outlines_longer_than_any_plaque_has(place):
    with svg(place) as root:
        group(root, "shadow")[0].set("d", "M 1 1" + " 2000 2 1 1" * 5000)


@damage(Promise.MARKED, "data-depth-mm is '-3', no number that can be cut")
def a_depth_above_the_face(place):
    with svg(place) as root:
        group(root, "pocket")[0].set("data-depth-mm", "-3")


# DXF


def _changed(place, pattern: str, new: str) -> None:
    """Put ``new`` in place of the first match in carve.dxf, read as text."""
    text = (place / "carve.dxf").read_text(encoding="utf-8")
    changed, count = re.subn(pattern, new, text, count=1)
    assert count, f"carve.dxf has no {pattern!r} to spoil"
    (place / "carve.dxf").write_text(changed, encoding="utf-8")


def _first_polyline_has(place, codes: str) -> None:
    _changed(place, r"(AcDbPolyline\n 90\n\d+\n 70\n\d\n)".replace(" ", " +"), rf"\g<1>{codes}")


@damage(Promise.TRUE_SIZE, "a LWPOLYLINE has turned out of its plane (extrusion): group code 230 is -1")
def an_extrusion_that_mirrors(place):
    with dxf(place) as document:
        entities(document, "shadow")[0].dxf.extrusion = (0, 0, -1)


@damage(Promise.MARKED, "a LWPOLYLINE has a thickness: group code 39 is 25")
def a_thickness(place):
    with dxf(place) as document:
        entities(document, "shadow")[0].dxf.thickness = 25


@damage(Promise.MARKED, "a LWPOLYLINE has a width: group code 43 is 6")
def a_line_with_a_width(place):
    with dxf(place) as document:
        entities(document, "shadow")[0].dxf.const_width = 6


@damage(Promise.MARKED, "a LWPOLYLINE has a line type of its own: group code 6 is DASHED")
def a_dashed_line(place):
    _first_polyline_has(place, "  6\nDASHED\n")


@damage(Promise.MARKED, "layer shadow has the line type DASHED")
def a_dashed_layer(place):
    _changed(place, r"(  2\nshadow\n 70\n0\n 62\n-?\d+\n(?:420\n\d+\n)?  6\n)\w+".replace(" ", " *"), r"\g<1>DASHED")


@damage(Promise.MARKED, "on a sheet of paper: group code 67 is 1")
def a_shadow_on_a_sheet_of_paper(place):
    with dxf(place) as document:
        entities(document, "shadow")[0].dxf.paperspace = 1


@damage(Promise.MARKED, "its block", "holds a CIRCLE")
def a_circle_in_a_block(place):
    with dxf(place) as document:
        document.blocks.new("extra").add_circle((5, 5), 1, dxfattribs={"layer": "shadow"})


@damage(Promise.MARKED, "holds a INSERT, which is not promised")
def a_block_put_into_a_layer(place):
    with dxf(place) as document:
        document.blocks.new("extra").add_circle((5, 5), 1, dxfattribs={"layer": "shadow"})
        document.modelspace().add_blockref("extra", (20, 20), dxfattribs={"layer": "shadow"})


@damage(Promise.SOUND, "carve.dxf, layer shadow: a path appears twice")
def a_shadow_of_the_dxf_drawn_twice(place):
    with dxf(place) as document:
        document.modelspace().add_entity(entities(document, "shadow")[0].copy())


@damage(Promise.MARKED, "says its depth_mm twice")
def a_depth_given_twice(place):
    with dxf(place) as document:
        line = entities(document, "pocket")[0]
        kept = [(tag.code, tag.value) for tag in line.get_xdata("SHADOWROUT") if tag.code == 1000]
        line.set_xdata("SHADOWROUT", [*kept, (1000, "depth_mm=9")])


@damage(Promise.MARKED, "has an unknown mark, group code 1040")
def a_depth_given_as_another_kind_of_number(place):
    with dxf(place) as document:
        line = entities(document, "pocket")[0]
        kept = [(tag.code, tag.value) for tag in line.get_xdata("SHADOWROUT") if tag.code == 1000]
        line.set_xdata("SHADOWROUT", [*kept, (1040, 9.0)])


@damage(Promise.MARKED, "says its group code 38 twice")
def an_elevation_given_twice(place):
    _changed(place, r"( 38\n)(\S+\n)".replace(" ", " +"), r"\g<1>\g<2> 38\n-9.0\n")


@damage(Promise.MARKED, "holds a ARC, which is not promised")
def an_arc_on_a_layer_of_shadows(place):
    with dxf(place) as document:
        document.modelspace().add_arc((10, 10), 4, 0, 90, dxfattribs={"layer": "shadow"})


@damage(Promise.MARKED, "a CIRCLE lies on the layer 0, which is no layer of its own")
def a_circle_on_layer_0(place):
    with dxf(place) as document:
        document.modelspace().add_circle((10, 10), 2)


@damage(Promise.MARKED, "a CIRCLE lies on the layer elsewhere, which is no layer of its own")
def a_circle_on_a_layer_that_is_not_there(place):
    with dxf(place) as document:
        document.modelspace().add_circle((10, 10), 2, dxfattribs={"layer": "elsewhere"})


@damage(Promise.TRUE_SIZE, "$INSBASE is (7.0, 0.0, 0.0)")
def another_origin(place):
    with dxf(place) as document:
        document.header["$INSBASE"] = (7, 0, 0)


@damage(Promise.TRUE_SIZE, "$UCSXDIR is (0.0, 1.0, 0.0)")
def another_coordinate_system(place):
    with dxf(place) as document:
        document.header["$UCSXDIR"] = (0, 1, 0)


@damage(Promise.TRUE_SIZE, "says $INSUNITS twice")
def a_unit_given_twice(place):
    _changed(place, r"(  9\n\$INSUNITS\n 70\n)(\d+\n)".replace(" ", " +"), r"\g<1>\g<2>  9\n$INSUNITS\n 70\n1\n")


@damage(Promise.COMPLETE, "has two sections ENTITIES")
def the_entities_of_the_dxf_in_two_sections(place):
    _changed(place, r"  0\nSECTION\n  2\nOBJECTS\n", "  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n\\g<0>")


@damage(Promise.COMPLETE, "has more after its EOF")
def the_end_of_the_dxf_told_early(place):
    _changed(place, r"  0\nSECTION\n  2\nENTITIES\n", "  0\nEOF\n\\g<0>")


@damage(Promise.COMPLETE, "has vertices without an x or a y")
def a_y_of_the_dxf_lost(place):
    _changed(place, r"( 10\n\S+\n) 20\n\S+\n( 10\n\S+\n 20\n)".replace(" ", " +"), r"\g<1>\g<2>")


@damage(Promise.STAYS_DARK, "mm off the face")
def an_elevation_far_off(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].dxf.elevation = -1e12


@damage(Promise.TRUE_SIZE, "a path reaches further than")
def a_shape_a_hundred_kilometres_off(place):
    with dxf(place) as document:
        line = entities(document, "shadow")[0]
        line.set_points([(x + 1e8, y, b) for x, y, b in line.get_points("xyb")], format="xyb")


@damage(Promise.MARKED, "cutter_mm of a LWPOLYLINE is '1e+300', no number that can be cut")
def a_cutter_of_endless_size(place):
    with dxf(place) as document:
        for line in entities(document, "cutter-path"):
            mark(line, cutter_mm=1e300)
