"""The files of one plaque, as bytes by name."""

from __future__ import annotations

import gzip
from collections.abc import Callable, Mapping

from shadowrout.carving.trimming import LeftOut
from shadowrout.drawing.carve_drawing import carve_drawing
from shadowrout.drawing.paper.cover import Bench, pattern_pages
from shadowrout.drawing.paper.pages import joins_of
from shadowrout.drawing.paper.pattern import pattern_drawing, pattern_tiling
from shadowrout.drawing.shapes import Drawing
from shadowrout.drawing.stencil_drawing import stencil_drawing
from shadowrout.drawing.template_drawing import kerf_drawing, template_drawing
from shadowrout.files.backend import render_all
from shadowrout.files.dxf import dxf_backend
from shadowrout.files.png import png_bytes
from shadowrout.files.result_folder import DESIGN_FILE, STENCIL_DESIGN_FILE
from shadowrout.files.svg import svg_backend
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.make.plaque import MadePlaque
from shadowrout.report.look.finished_look import finished, what_sanding_takes
from shadowrout.report.look.height_field import HeightField, carved, pixel_mm_for
from shadowrout.report.look.left_out_picture import left_out_picture
from shadowrout.report.look.stencil_picture import stencil_picture
from shadowrout.report.look.stroke_picture import stroke_picture
from shadowrout.sheets.kerf_piece import kerf_test
from shadowrout.sheets.register import distances, holes_of
from shadowrout.words.units import Unit

Files = dict[str, bytes]

_GZIP_LEVEL = 6
"""The highest, 9, takes five times as long on coordinates and saves less than a hundredth."""

_FLAT_SHARE = 0.1
"""Part of the tolerance left for straight pieces in space, beside what fitting the V lines takes of it."""


def board_of(job: Job, made: MadePlaque) -> HeightField:
    """Return the plaque as drilled and carved, before paint and sanding."""
    layout = made.layout
    pixel_mm = pixel_mm_for(layout.board_mm)
    holes, angle = holes_of(made.marks), job.v_tool.angle
    return carved(
        made.carving.plan, made.drawn.design.shadow, layout, holes=holes, v_angle_deg=angle, pixel_mm=pixel_mm
    )


def files_of(job: Job, made: MadePlaque, board: HeightField) -> Files:
    """Return the files that the job asks for, and the sized designs, by which they can be checked."""
    files: Files = {}
    for name in job.output.files:
        files |= _MAKERS[name](job, made, board)
    if job.output.explain:
        files |= _size(job, made)
    if made.left_out is not None:
        files |= _left_out(made, made.left_out)
    if made.stencil is not None:
        files[STENCIL_DESIGN_FILE] = _packed(made.stencil.shadow)
    return files | {DESIGN_FILE: _packed(made.drawn.design.shadow)}


def _packed(design: Region) -> bytes:
    return gzip.compress(design.well_known_binary(), _GZIP_LEVEL, mtime=0)


def _carve(job: Job, made: MadePlaque, board: HeightField) -> Files:
    return svg_and_dxf("carve", carving_as_drawn(job, made), job)


def carving_as_drawn(job: Job, made: MadePlaque) -> Drawing:
    """Return the drawing of what is carved, as ``carve.svg`` and ``carve.dxf`` hold it."""
    title = _title(job, made)
    return carve_drawing(
        made.carving.paths,
        made.carving.plan,
        made.layout,
        made.marks,
        unit=Unit(job.output.settled_unit),
        title=title,
        description=(
            "Depths are measured from the face before sanding. A pocket's wall, noted with its depth, is where the "
            "cutter's edge ends; the cutter path, noted with the cutter's diameter, is the line its centre follows: "
            "use one of the two, never an offset on top of the path. Depths are starting points to confirm on scrap; "
            "the machine's manual comes first."
        ),
        flat_mm=_FLAT_SHARE * job.output.tolerance,
    )


def _pattern(job: Job, made: MadePlaque, board: HeightField) -> Files:
    from shadowrout.files.pdf import pdf_bytes

    mirrored, layout = job.pattern.mirrored, made.layout
    tiling = pattern_tiling(layout.board_mm, job.pattern)
    title = _title(job, made)
    drawing = pattern_drawing(
        made.carving.paths,
        layout,
        made.marks,
        unit=Unit(job.output.settled_unit),
        title=title,
        description="Full-size pattern to glue on the face.",
        thickness_mm=made.plaque.thickness,
        flow_lines=made.carving.plan.flow_lines,
        left=None if made.template is None else made.template.template.kept_from_bit,
        joins=list(joins_of(tiling, mirrored=mirrored)),
    )
    pages = pattern_pages(drawing, tiling, _bench(job, made), distances=distances(made.marks), mirrored=mirrored)
    return {"pattern.pdf": pdf_bytes(drawing, pages)}


def _bench(job: Job, made: MadePlaque) -> Bench:
    return Bench(
        v_angle_deg=job.v_tool.angle,
        machine="carve" in job.output.files,
        template="template" in job.output.files,
        pared=any(pocket.allowance_mm for pocket in made.carving.plan.pockets),
    )


def _preview(job: Job, made: MadePlaque, board: HeightField) -> Files:
    planned, wood = job.finish.sanding_loss, made.plaque.wood or job.finish.wood
    inches = job.output.unit == "in"
    return {
        "preview.png": png_bytes(finished(board, sanding_mm=planned, wood=wood)),
        "preview-sanding.png": png_bytes(what_sanding_takes(board, planned_mm=planned, wood=wood, inches=inches)),
    }


def _size(job: Job, made: MadePlaque) -> Files:
    board = made.layout.board_mm
    unit = job.output.settled_unit
    picture = stroke_picture(
        made.drawn.design.shadow, made.drawn.widths, board, pixel_mm=pixel_mm_for(board), unit=unit
    )
    return {"size.png": png_bytes(picture)}


def _left_out(made: MadePlaque, left_out: LeftOut) -> Files:
    board = made.layout.board_mm
    picture = left_out_picture(
        made.drawn.design.shadow,
        left_out.region,
        left_out.filled,
        board,
        lines=left_out.lines,
        pixel_mm=pixel_mm_for(board),
    )
    return {"left-out.png": png_bytes(picture)}


def sheet_drawings(job: Job, made: MadePlaque) -> dict[str, Drawing]:
    """Return the drawing of each sheet that is cut beside the plaque, by its file's name without the ending."""
    return {**_stencil_drawing(job, made), **_template_drawings(job, made)}


def _stencil(job: Job, made: MadePlaque, board: HeightField) -> Files:
    held = made.stencil
    if held is None:
        return {}
    unit = Unit(job.output.settled_unit)
    picture = stencil_picture(held.stencil, held.shadow, pixel_mm=pixel_mm_for(held.stencil.sheet))
    return {
        **_all_svg_and_dxf(_stencil_drawing(job, made), job),
        "stencil.png": png_bytes(picture),
        **svg_and_dxf("kerf-test", kerf_drawing(kerf_test(inches=unit is Unit.INCH), unit=unit), job),
    }


def _stencil_drawing(job: Job, made: MadePlaque) -> dict[str, Drawing]:
    held = made.stencil
    if held is None:
        return {}
    title = _title(job, made)
    drawing = stencil_drawing(
        held.paths,
        held.stencil,
        made.marks,
        board=made.layout.board_mm,
        rim_mm=job.stencil.margin,
        ties=job.stencil.ties,
        unit=Unit(job.output.settled_unit),
        title=title,
        description=(
            "Hardboard stencil. Openings are drawn where the middle of the beam or blade goes: the kerf is already "
            "allowed for. Cut the openings first and the sheet's edge last. Bridge lines and text are not cut."
        ),
    )
    return {"stencil": drawing}


def _template(job: Job, made: MadePlaque, board: HeightField) -> Files:
    return _all_svg_and_dxf(_template_drawings(job, made), job)


def _template_drawings(job: Job, made: MadePlaque) -> dict[str, Drawing]:
    """Return the drawing of each sheet; the second is called template-2, and so on."""
    drawings: dict[str, Drawing] = {}
    if made.template is None:
        return drawings
    title = _title(job, made)
    for number, paths in enumerate(made.template.paths, start=1):
        drawings["template" if number == 1 else f"template-{number}"] = template_drawing(
            paths,
            made.template.template,
            number=number,
            board=made.layout.edge,
            rim_mm=job.template.margin,
            unit=Unit(job.output.settled_unit),
            title=title,
            description=(
                "Router template. Openings are larger than the pockets by half the difference of bush and bit. Points "
                "of it that stand into them are keys, which keep the bit off narrow light: leave them whole. Place it "
                "by dowels through its holes into the board's own; its thin lines are the board's outline and its "
                "centre lines, not to be cut. Depth and bit are starting points to confirm on scrap; the router's "
                "manual comes first."
            ),
        )
    return drawings


def _all_svg_and_dxf(drawings: Mapping[str, Drawing], job: Job) -> Files:
    return {file: content for name, d in drawings.items() for file, content in svg_and_dxf(name, d, job).items()}


def svg_and_dxf(name: str, drawing: Drawing, job: Job) -> Files:
    """Return a drawing's two files by name."""
    svg, dxf = render_all(drawing, [svg_backend(), dxf_backend(job.output.dxf)])
    return {f"{name}.svg": svg, f"{name}.dxf": dxf}


_MAKERS: dict[str, Callable[[Job, MadePlaque, HeightField], Files]] = {
    "carve": _carve,
    "pattern": _pattern,
    "preview": _preview,
    "stencil": _stencil,
    "template": _template,
}


def _title(job: Job, made: MadePlaque) -> str:
    """Return the picture's and the plaque's name, with a space for each character that a title can't hold."""
    name = "".join(c if c.isprintable() else " " for c in job.picture.file.stem)
    return f"{name}, {made.plaque.name}"
