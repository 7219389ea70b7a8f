"""Damages to numbers.json and job.toml."""

from __future__ import annotations

from shadowrout.check.findings import Promise
from spoil.handles import damage, figures, replace_text


@damage(Promise.FIGURES, "V lines", "numbers.json tells of 99")
def another_count_of_v_lines(place):
    with figures(place) as told:
        told["plaques"][0]["v_lines"]["count"] = 99


@damage(Promise.FIGURES, "the size is")
def another_size_in_the_figures(place):
    with figures(place) as told:
        told["plaques"][0]["size_mm"][0] += 10


@damage(Promise.FIGURES, "the tolerance is 0.5")
def another_tolerance_in_the_figures(place):
    with figures(place) as told:
        told["tolerance_mm"] = 0.5


@damage(Promise.FIGURES, "mm deep by a")
def another_pocket_depth_in_the_figures(place):
    with figures(place) as told:
        told["plaques"][0]["pockets"][0]["depth_mm"] = 4.5


@damage(Promise.FIGURES, "cutter paths are")
def another_length_in_the_figures(place):
    with figures(place) as told:
        told["plaques"][0]["pockets"][0]["cutter_path_mm"] *= 1.5


@damage(Promise.FIGURES, "the thickness is 18.0 in numbers.json, 25.0 in job.toml")
def another_thickness_in_the_job(place):
    replace_text(place.parent, "job.toml", 'thickness = "18mm"', 'thickness = "25mm"')


@damage(Promise.FIGURES, "tells nothing of the plaque")
def the_plaque_missing_from_the_figures(place):
    with figures(place) as told:
        told["plaques"] = []


@damage(Promise.COMPLETE, "numbers.json", "can't be read")
def the_figures_truncated(place):
    path = place.parent / "numbers.json"
    path.write_bytes(path.read_bytes()[:50])


@damage(Promise.FIGURES, "carve.dxf has a digest but isn't among the plaque's files")
def no_files_listed(place):
    with figures(place) as told:
        told["plaques"][0]["files"] = []
