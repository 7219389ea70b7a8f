"""Damages to layers, marks and notes."""

from __future__ import annotations

import re

from shadowrout.check.findings import Promise
from spoil.handles import APPLICATION, SVG, damage, dxf, entities, group, replace_text, svg


@damage(Promise.MARKED, "carve.svg", "layer walls has no role's name")
def a_layer_of_the_svg_renamed(place):
    with svg(place) as root:
        group(root, "shadow").set("id", "walls")


@damage(Promise.MARKED, "carve.dxf", "layer walls has no role's name")
def a_layer_of_the_dxf_renamed(place):
    with dxf(place) as document:
        document.layers.get("shadow").rename("walls")


@damage(Promise.AGREE, "stands in the SVG only")
def a_layer_of_the_dxf_named_after_another_role(place):
    with dxf(place) as document:
        document.layers.get("v-line").rename("flow-line")


@damage(Promise.MARKED, "carve.dxf", "no mark cutter_mm")
def the_extended_data_of_a_pocket_removed(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].discard_xdata(APPLICATION)


@damage(Promise.MARKED, "application id SHADOWROUT is not registered")
def the_application_id_renamed(place):
    replace_text(place, "carve.dxf", "\nSHADOWROUT\n", "\nSOMEBODY\n")


@damage(Promise.MARKED, "no mark width_mm")
def a_width_mark_removed(place):
    with svg(place) as root:
        del group(root, "v-line")[0].attrib["data-width-mm"]


@damage(Promise.MARKED, "no number")
def a_mark_that_is_no_number(place):
    with svg(place) as root:
        group(root, "v-line")[0].set("data-depth-mm", "deep")


@damage(Promise.MARKED, "says its role is pocket")
def a_role_mark_swapped(place):
    with svg(place) as root:
        group(root, "cutter-path").set("data-role", "pocket")


@damage(Promise.MARKED, "carve.svg", "layer fragile-light is switched on")
def the_reference_lines_of_the_svg_switched_on(place):
    with svg(place) as root:
        del group(root, "fragile-light").attrib["display"]


@damage(Promise.MARKED, "carve.dxf", "layer fragile-light is switched on")
def the_reference_lines_of_the_dxf_switched_on(place):
    with dxf(place) as document:
        document.layers.get("fragile-light").on()


@damage(Promise.MARKED, "carve.svg", "layer v-line is switched off")
def a_layer_of_the_svg_switched_off(place):
    with svg(place) as root:
        group(root, "v-line").set("style", "display: none")


@damage(Promise.MARKED, "carve.dxf", "layer v-line is switched off")
def a_layer_of_the_dxf_frozen(place):
    with dxf(place) as document:
        document.layers.get("v-line").freeze()


@damage(Promise.MARKED, "layer shadow", "a path is switched off")
def a_shadow_of_the_svg_switched_off(place):
    with svg(place) as root:
        group(root, "shadow")[0].set("visibility", "hidden")


@damage(Promise.MARKED, "layer shadow", "LWPOLYLINE is switched off")
def a_shadow_of_the_dxf_switched_off(place):
    with dxf(place) as document:
        entities(document, "shadow")[0].dxf.invisible = 1


@damage(Promise.FIGURES, "holds 0 ridges of fragile light")
def the_reference_lines_removed(place):
    with dxf(place) as document:
        for entity in entities(document, "fragile-light"):
            document.modelspace().delete_entity(entity)


@damage(Promise.MARKED, "the layer v-line is missing")
def the_v_lines_of_the_svg_removed(place):
    with svg(place) as root:
        root.remove(group(root, "v-line"))


@damage(Promise.MARKED, "pocket 1 has no note")
def the_notes_of_a_pocket_removed(place):
    with svg(place) as root:
        holder = group(root, "note")
        for note in [note for note in holder if (note.text or "").startswith("1:")]:
            holder.remove(note)


def note_with(root, words: str):
    """Return the first note that holds the words."""
    return next(note for note in group(root, "note") if words in (note.text or ""))


@damage(Promise.MARKED, "contradicts numbers.json")
def a_note_with_another_depth(place):
    with svg(place) as root:
        note = note_with(root, " wall, depth")
        note.text = re.sub(r"[\d.]+ mm", "7 mm", note.text)


@damage(Promise.MARKED, "the note '2: wall, depth 7 mm' contradicts numbers.json")
def a_note_of_four_lines_with_another_depth(place):
    with svg(place) as root:
        note = next(note for note in group(root, "note") if note.text == "depth 3 mm")
        note.text = "depth 7 mm"


@damage(Promise.MARKED, "contradicts numbers.json, which gives 3")
def a_note_with_another_cutter(place):
    with svg(place) as root:
        note = note_with(root, " centre, cutter")
        note.text = re.sub(r"[\d.]+ mm", "1 1/4 in", note.text)


@damage(Promise.MARKED, "says nothing of a pocket")
def a_note_that_confuses_the_lines(place):
    with svg(place) as root:
        note = note_with(root, " wall, depth")
        note.text = note.text.replace("wall", "centre")


@damage(Promise.MARKED, "no note says which line of pocket 2 is its wall")
def a_note_cut_down_to_its_depth(place):
    with svg(place) as root:
        notes = group(root, "note")
        for note in [note for note in notes if (note.text or "").startswith("2: centre") or note.text == "cutter 3 mm"]:
            notes.remove(note)


@damage(Promise.MARKED, "'cutter 7 mm', contradicts numbers.json, which gives 3 mm")
def a_note_for_all_with_another_cutter(place):
    with svg(place) as root:
        note_with(root, "1: wall").text = "pocket lines: wall, cutter-path lines: centre, cutter 7 mm"


@damage(Promise.MARKED, "'cutter 3 mm in 1', contradicts numbers.json")
def a_note_for_all_that_leaves_a_pocket_out(place):
    with svg(place) as root:
        note_with(root, "1: wall").text = "pocket lines: wall, cutter-path lines: centre, cutter 3 mm in 1"


@damage(Promise.MARKED, "'cutter 3 mm in 1 to 2; 6 mm in 2', contradicts numbers.json")
def a_note_for_all_that_gives_a_pocket_two_cutters(place):
    with svg(place) as root:
        note_with(
            root, "1: wall"
        ).text = "pocket lines: wall, cutter-path lines: centre, cutter 3 mm in 1 to 2; 6 mm in 2"


@damage(Promise.AGREE, "a note reads")
def a_note_of_the_dxf_changed(place):
    with dxf(place) as document:
        text = entities(document, "note")[0]
        text.dxf.text = text.dxf.text.replace("wall", "hall").replace("centre", "center")


@damage(Promise.MARKED, "has no description")
def the_description_removed(place):
    with svg(place) as root:
        root.remove(root.find(f"{SVG}desc"))


@damage(Promise.MARKED, "holds a LINE")
def a_loose_line_in_the_dxf(place):
    with dxf(place) as document:
        document.modelspace().add_line((0, 0), (10, 10), dxfattribs={"layer": "shadow"})


@damage(Promise.MARKED, "carve.dxf", "layer v-line-3d holds a POLYLINE that lies flat")
def a_line_in_space_laid_flat(place):
    with dxf(place) as document:
        line = next(entity for entity in document.modelspace().query("POLYLINE") if entity.is_3d_polyline)
        line.dxf.flags = 0
