"""The order of work at the bench, told for what the job has in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shadowrout.depths import half_angle_tan
from shadowrout.jobsheet.scope import Scope
from shadowrout.jobsheet.tables import Figures
from shadowrout.jobsheet.wording import Words, counted, number
from shadowrout.options import Job


@dataclass(frozen=True)
class Step:
    """One step of the work: what to do in a word or two, then how."""

    name: str
    how: str


def steps_of(job: Job, plaques: Sequence[Figures], scope: Scope, words: Words) -> tuple[Step, ...]:
    """Return the steps in their order, without those that none of the plaques or the job's files needs."""
    return (
        *(_trial(plaques, scope) if scope.plaque else ()),
        *(_stencil(plaques) if scope.stencil else ()),
        *(_dowel_holes(plaques, scope) if scope.plaque else ()),
        *_roughing(job, plaques, scope, words),
        *(_marking(plaques, scope) if scope.stencil else ()),
        *(_hand_work(job, plaques, scope, words) if scope.hand else ()),
        *(_finishing(job, plaques, scope, words) if scope.plaque else ()),
    )


def _trial(plaques: Sequence[Figures], scope: Scope) -> Iterator[Step]:
    cuts = [
        *(["one pocket"] if _has_pockets(plaques) and scope.roughs else []),
        *(["a few V lines of each width"] if _has_v_lines(plaques) and scope.hand else []),
    ]
    cut = f"cut {' and '.join(cuts)}, paint and sand them" if cuts else "paint a face and sand it"
    yield Step("Try", f"On scrap of the same wood {cut}. Change the settings until the scrap looks right.")


def _stencil(plaques: Sequence[Figures]) -> Iterator[Step]:
    dowels = " with its dowel holes" if _has_register(plaques) else ""
    yield Step(
        "Cut the stencil",
        "From the same sheet cut the kerf test first, measure it, and make the job again if your kerf is another. Then "
        f"cut the openings{dowels}, and the sheet's edge last. Leave bridge lines and words uncut.",
    )


def _dowel_holes(plaques: Sequence[Figures], scope: Scope) -> Iterator[Step]:
    if not _has_register(plaques):
        return
    by = "They line up what is laid on the face later, so drill them first"
    by += ", while the board lies as the machine will cut it." if scope.machine else "."
    yield Step("Drill", f"Drill the dowel holes where each plaque's sheet says, and not through the board. {by}")


def _roughing(job: Job, plaques: Sequence[Figures], scope: Scope, words: Words) -> Iterator[Step]:
    if not _has_pockets(plaques):
        return
    if scope.template:
        yield from _by_template(job, plaques, words)
    if scope.machine:
        cutters = {pocket["cutter_mm"] for plaque in plaques for pocket in plaque["pockets"]}
        order = ", those of the larger cutter first" if len(cutters) > 1 else ""
        also = "Where no template is used, cut" if scope.template else "Cut"
        yield Step(
            "Rough",
            f"{also} the pockets{order}. Of each pocket the drawing has the wall and the line of the cutter's "
            "centre: use one of the two, and let no other program move the centre line again.",
        )
    elif not scope.template and scope.hand:
        yield Step(
            "Rough",
            "This job has no drawing for a machine. After gluing the pattern take what is hatched down to the depth "
            "noted in it; or make the job's carve drawing, and rough by machine before the pattern is glued.",
        )


def _by_template(job: Job, plaques: Sequence[Figures], words: Words) -> Iterator[Step]:
    sheets = sum(plaque["template"]["sheets"] for plaque in plaques)
    bit, bush = words.length(job.template.bit), words.length(job.template.bush)
    several = sheets > len(plaques)
    what = (
        "the template's sheets on the face in turn, each in the same place" if several else "the template on the face"
    )
    yield Step(
        "Cut the template",
        f"Cut the openings, then the edge, of {counted(sheets, 'sheet')} {words.length(job.template.thickness)} "
        "thick. The bush runs along the openings: make them smooth.",
    )
    yield Step(
        "Rout",
        f"Fix {what}, {_placed(plaques)}. Rout the openings with a bit of {bit} in "
        f"a bush of {bush}, in passes, until the bit stands out as far as the sheet says. Try it on scrap.",
    )


def _placed(plaques: Sequence[Figures]) -> str:
    """Return what puts a template in its place: dowels where each of its sheets has two holes, else lines, too."""
    sheets = [sheet for plaque in plaques for sheet in plaque["template"]["placing"]]
    by = "by dowels through the holes that it shares with the board"
    if not all(len(sheet["dowels"]) >= 2 for sheet in sheets):
        by += ", or where it has fewer than two, by its centre lines, drawn on the board too"
    return f"{by}; its text says how far the board's edge lies inside its own"


def _marking(plaques: Sequence[Figures], scope: Scope) -> Iterator[Step]:
    by = "its edges, which stand over the board's by the same on opposite sides"
    if _has_register(plaques):
        by = "the dowels" if scope.plaque else f"{by}, drill the dowel holes through it, put the dowels in"
    boards = "On boards that get no pattern, lay" if scope.hand else "Lay"
    yield Step(
        "Mark",
        f"{boards} the stencil on the face, lined up by {by}, and hold it flat. Draw round its openings, or dab paint "
        "through them. Lines finer than its webs aren't in it.",
    )


def _hand_work(job: Job, plaques: Sequence[Figures], scope: Scope, words: Words) -> Iterator[Step]:
    yield Step("Glue the pattern", _pattern(plaques, scope))
    if _has_pockets(plaques):
        yield Step("Pare", "With the gouge take the wood between the pockets' walls and the edge of the shadow.")
    if any(plaque["flow_lines"]["count"] for plaque in plaques):
        deepest = max(plaque["flow_lines"]["greatest_below_floor_mm"] for plaque in plaques)
        yield Step(
            "Flow lines",
            f"With the V tool cut the flow lines into the floors of the pockets, {words.depth(deepest)} deep at most.",
        )
    if _has_v_lines(plaques):
        wider = 2 * half_angle_tan(job.v_tool.angle) * job.finish.sanding_loss
        yield Step(
            "Carve",
            "Cut the V lines along their centre. A stroke's width tells its depth: cut until it is as wide as on the "
            f"pattern, and by {words.depth(wider)} wider, which the planned sanding takes again.",
        )


def _pattern(plaques: Sequence[Figures], scope: Scope) -> str:
    by = "the board's edge"
    if _has_register(plaques):
        by = "the register marks"
    elif _has_pockets(plaques) and scope.roughs:
        by = "the pockets' walls"
    if any(plaque["pattern"] for plaque in plaques):
        how = "Print the pattern at full size, measure its bars, and join its sheets as its first page says."
        return f"{how} Glue it to the face, lined up by {by}."
    return f"Print the drawing at full size, measure the print, and glue it to the face, lined up by {by}."


def _finishing(job: Job, plaques: Sequence[Figures], scope: Scope, words: Words) -> Iterator[Step]:
    lines = _has_v_lines(plaques) and scope.hand
    if any(plaque["shape"] != "rectangle" for plaque in plaques):
        yield Step("Cut out", "Cut the plaque out along the board's edge in the drawing, and smooth the edge.")
    paper = "Take the paper and its glue off. " if scope.hand else ""
    yield Step(
        "Paint",
        f"{paper}Paint the whole face, {number(job.finish.coats)} coats, down into every cut. Let each dry as its tin "
        "says.",
    )
    yield Step(
        "Sand",
        "Measure the board's thickness before the first stroke, then sand evenly: "
        f"{words.depth(job.finish.sanding_loss)} in all is planned. Measure often, at the same marked places.",
    )
    limit = " Each plaque's sheet says how much is too much; stop before that even if paint is left." if lines else ""
    yield Step("Stop", f"Stop when the light parts are clean wood.{limit}")
    if lines:
        yield Step(
            "Re-cut",
            "Where a line has grown thin or gone, cut it again from the sanded face and paint it with a fine brush. "
            "Each plaque's sheet lists the strokes that go first: look at those.",
        )


def _has_pockets(plaques: Sequence[Figures]) -> bool:
    return any(plaque["pockets"] for plaque in plaques)


def _has_v_lines(plaques: Sequence[Figures]) -> bool:
    return any(plaque["v_lines"]["count"] for plaque in plaques)


def _has_register(plaques: Sequence[Figures]) -> bool:
    return any(plaque["register"] for plaque in plaques)
