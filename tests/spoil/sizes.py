"""Damages to size, unit and page."""

from __future__ import annotations

from shadowrout.check.findings import Promise
from spoil.handles import damage, dxf, entities, group, largest, moved, replace_text, svg


@damage(Promise.TRUE_SIZE, "unit is in", "job asks for mm")
def the_dxf_said_to_be_in_inches(place):
    with dxf(place) as document:
        document.header["$INSUNITS"] = 1
        document.header["$MEASUREMENT"] = 0


@damage(Promise.TRUE_SIZE, "carve.dxf", "unit is not said")
def the_unit_of_the_dxf_lost(place):
    with dxf(place) as document:
        document.header["$INSUNITS"] = 0


@damage(Promise.TRUE_SIZE, "$MEASUREMENT")
def the_measurement_switched(place):
    with dxf(place) as document:
        document.header["$MEASUREMENT"] = 0


@damage(Promise.TRUE_SIZE, "carve.svg", "px")
def the_unit_of_the_svg_lost(place):
    with svg(place) as root:
        root.set("width", root.get("width").removesuffix("mm"))


@damage(Promise.TRUE_SIZE, "carve.svg", "unit is in")
def the_svg_said_to_be_in_inches(place):
    with svg(place) as root:
        for side in ("width", "height"):
            root.set(side, root.get(side).replace("mm", "in"))


@damage(Promise.TRUE_SIZE, "carve.svg", "scaled by 1.01")
def the_svg_scaled_by_one_percent(place):
    with svg(place) as root:
        for side in ("width", "height"):
            root.set(side, f"{float(root.get(side).removesuffix('mm')) * 1.01:.6g}mm")


@damage(Promise.TRUE_SIZE, "carve.svg", "no viewBox")
def the_view_box_lost(place):
    with svg(place) as root:
        del root.attrib["viewBox"]


@damage(Promise.TRUE_SIZE, "transform (scale(1.02))")
def a_transform_added(place):
    with svg(place) as root:
        group(root, "shadow").set("transform", "scale(1.02)")


@damage(Promise.TRUE_SIZE, "transform (scale(0.039370078740)")
def a_note_scaled_to_inches_in_a_file_in_millimetres(place):
    with svg(place) as root:
        group(root, "note")[0].set("transform", "scale(0.039370078740)")


@damage(Promise.TRUE_SIZE, "carve.dxf", "plaque's edge", "was asked for")
def the_board_of_the_dxf_widened(place):
    with dxf(place) as document:
        (line,) = entities(document, "plaque-edge")
        widest = max(row[0] for row in line)
        line.set_points([(x + 0.01 * (x == widest), y, b) for x, y, b in line.get_points("xyb")], format="xyb")


@damage(Promise.TRUE_SIZE, "carve.dxf", "the page")
def the_extents_of_the_dxf_changed(place):
    with dxf(place) as document:
        x, y, z = document.modelspace().dxf.extmax
        document.modelspace().reset_extents(document.modelspace().dxf.extmin, (x + 1, y, z))


@damage(Promise.TRUE_SIZE, "carve.dxf", "$EXTMIN", "not set")
def the_extents_of_the_dxf_lost(place):
    with dxf(place) as document:
        document.modelspace().reset_extents()


@damage(Promise.TRUE_SIZE, "past the page")
def a_shape_off_the_page(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", moved(path.get("d"), 500))


@damage(Promise.TRUE_SIZE, "DXF R2000", "asks for R2010")
def another_dxf_version(place):
    with dxf(place) as document:
        document.dxfversion = "R2000"


@damage(Promise.TRUE_SIZE, "note says the unit is nothing")
def the_note_of_the_unit_removed(place):
    replace_text(place, "carve.svg", '<property name="unit"', '<property name="tinu"')
