"""The files of one plaque, as bytes by name."""

from __future__ import annotations

import gzip
from collections.abc import Callable

from shadowrout.drawing.carve import carve_drawing
from shadowrout.drawing.shapes import Unit
from shadowrout.make_plaque import MadePlaque
from shadowrout.options import Job
from shadowrout.simulate.height_field import carved, pixel_mm_for
from shadowrout.simulate.look import finished, what_sanding_takes
from shadowrout.writers.dxf import dxf_bytes
from shadowrout.writers.png import png_bytes
from shadowrout.writers.svg import svg_bytes

Files = dict[str, bytes]

DESIGN_FILE = "design.wkb.gz"


def files_of(job: Job, made: MadePlaque) -> Files:
    """Return the files that the job asks for, and the sized design, by which they can be checked."""
    files: Files = {}
    for name in job.output.files:
        files |= _MAKERS[name](job, made)
    return files | {DESIGN_FILE: gzip.compress(made.design.shadow.well_known_binary(), mtime=0)}


def _carve(job: Job, made: MadePlaque) -> Files:
    drawing = carve_drawing(
        made.paths,
        made.plan,
        made.design.layout,
        unit=Unit(job.output.unit),
        title=_title(job, made),
        description=(
            "Depths are measured from the face before sanding. A pocket's wall, noted with its depth, is where the "
            "cutter's edge ends; the cutter path, noted with the cutter's diameter, is the line its centre follows: "
            "use one of the two, never an offset on top of the path. Depths are starting points to confirm on scrap; "
            "the machine's manual comes first."
        ),
    )
    return {"carve.svg": svg_bytes(drawing), "carve.dxf": dxf_bytes(drawing, version=job.output.dxf)}


def _preview(job: Job, made: MadePlaque) -> Files:
    layout = made.design.layout
    field = carved(
        made.plan,
        made.design.shadow,
        layout,
        v_angle_deg=job.v_tool.angle,
        pixel_mm=pixel_mm_for(layout.board_mm),
    )
    planned = job.finish.sanding_loss
    return {
        "preview.png": png_bytes(finished(field, sanding_mm=planned)),
        "preview-sanding.png": png_bytes(what_sanding_takes(field, planned_mm=planned)),
    }


_MAKERS: dict[str, Callable[[Job, MadePlaque], Files]] = {"carve": _carve, "preview": _preview}


def _title(job: Job, made: MadePlaque) -> str:
    """Return the picture's and the plaque's name, with a space for each character that a title can't hold."""
    name = "".join(c if c.isprintable() else " " for c in job.picture.file.stem)
    return f"{name}, {made.plaque.name}"
