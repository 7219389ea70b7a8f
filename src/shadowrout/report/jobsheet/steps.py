"""The order of work at the bench, told for what the job has in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shadowrout.carving.depths import half_angle_tan
from shadowrout.job.options import Job
from shadowrout.report.figures.job_figures import PlaqueFigures
from shadowrout.report.figures.template_figures import TemplateFigures
from shadowrout.report.figures.times import LEAST_LEFT_MM2
from shadowrout.report.scope import Scope
from shadowrout.words.wording import Words, coats_of, counted

_FILES = "among the files under [output] (or --only)"


@dataclass(frozen=True)
class Step:
    """One step of the work: what to do in a word or two, then how."""

    name: str
    how: str


def steps_of(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> tuple[Step, ...]:
    """Return the steps in their order, without those that none of the plaques or the job's files needs."""
    stencil, mark = (_stencil(plaques), _marking(plaques, scope)) if scope.stencil else ((), ())
    if not scope.begins:
        return (*stencil, *mark, *(_only_pictures() if scope.preview else ()))
    return (
        *_trial(plaques),
        *stencil,
        *_dowel_holes(plaques, scope),
        *_roughing(job, plaques, scope, words),
        *mark,
        *_pattern(job, plaques, scope),
        *(_roughing_by_hand(plaques) if scope.by_hand else ()),
        *_hand_work(job, plaques, scope, words),
        *_finishing(job, plaques, scope, words),
    )


def _only_pictures() -> Iterator[Step]:
    yield Step(
        "Make the drawings",
        "Of the plaques only pictures were made, to choose by; the tools, amounts and times are there to plan with. "
        f"Before the work begins make the job with carve, pattern or template {_FILES}: its sheet then has the order "
        "of work.",
    )


def _trial(plaques: Sequence[PlaqueFigures]) -> Iterator[Step]:
    cuts = [
        *(["one pocket"] if _has_pockets(plaques) else []),
        *(["a few V lines of each width"] if _has_v_lines(plaques) else []),
    ]
    cut = f"cut {' and '.join(cuts)}, paint and sand them" if cuts else "paint a face and sand it"
    yield Step("Try", f"On {scrap_of(plaques)} {cut}. Change the settings until the scrap looks right.")


def scrap_of(plaques: Sequence[PlaqueFigures]) -> str:
    """Return the scrap to try on."""
    woods = {plaque.amounts.wood for plaque in plaques}
    return "scrap of the same wood" if len(woods) == 1 else "scrap of each wood"


def _stencil(plaques: Sequence[PlaqueFigures]) -> Iterator[Step]:
    dowels = " and the dowel holes" if _has_register(plaques) else ""
    yield Step(
        "Cut the stencil",
        "From the same sheet cut the kerf test first, measure it, and make the job again if your kerf is another. Then "
        f"cut the openings{dowels}, and the sheet's edge last. Leave bridge lines and words uncut.",
    )


def _dowel_holes(plaques: Sequence[PlaqueFigures], scope: Scope) -> Iterator[Step]:
    if not _has_register(plaques):
        return
    lying = ", while the board lies as the machine will cut it" if scope.machine else ""
    yield Step(
        "Drill",
        "Drill the dowel holes where each plaque's sheet says, and not through the board. They line up what is laid on "
        f"the face later, so drill them first{lying}. They show in the finished face unless they are plugged. If you "
        f"want none, make the job again with dowel = 0 under [register] (or --dowel 0); {_otherwise(scope)}.",
    )


def _otherwise(scope: Scope) -> str:
    """Return what lines things up where there are no dowel holes."""
    by = [
        *(["a template by its centre lines"] if scope.template else []),
        *(["the paper by the pockets' walls or the board's edge"] if not scope.by_hand else []),
        *(["the pattern by the board's edge"] if scope.by_hand else []),
        *(["the stencil by its edges"] if scope.stencil else []),
    ]
    return f"then line up {', and '.join(filter(None, (', '.join(by[:-1]), by[-1])))}"


def _roughing(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> Iterator[Step]:
    """Yield the roughing that comes before anything is drawn on the face or glued to it."""
    if not _has_pockets(plaques):
        return
    if scope.template:
        yield from _by_template(job, plaques, words)
    if scope.machine:
        cutters = {pocket.cutter_mm for plaque in plaques for pocket in plaque.pockets}
        order = ", those of the larger cutter first" if len(cutters) > 1 else ""
        also = "Or by machine, in place of the template, cut" if scope.template else "Cut"
        yield Step(
            "Rough",
            f"{also} the pockets{order}. Of each pocket the drawing has the wall and the line of the cutter's "
            "centre: use one of the two, and let no other program move the centre line again.",
        )


def _by_template(job: Job, plaques: Sequence[PlaqueFigures], words: Words) -> Iterator[Step]:
    templates = templates_of(plaques)
    sheets = sum(template.sheets for template in templates)
    bit, bush = words.length(job.template.bit), words.length(job.template.bush)
    several = sheets > len(plaques)
    what = (
        "the template's sheets on the face in turn, each in the same place" if several else "the template on the face"
    )
    holes = " and the dowel holes" if any(sheet.dowels for template in templates for sheet in template.placing) else ""
    yield Step(
        "Cut the template",
        f"Cut the openings{holes}, then the edge, of {counted(sheets, 'sheet')} {words.length(job.template.thickness)} "
        "thick. The bush runs along the openings: make them smooth.",
    )
    guided = f"in a bush of {bush}" if job.template.bush > job.template.bit else "with a bearing of its own size"
    yield Step(
        "Rout",
        f"Fix {what}, {_placed(templates)}. Rout the openings with a bit of {bit} {guided}, in passes, until the bit "
        "stands out as far as the sheet says. Try it on scrap.",
    )


def _placed(templates: Sequence[TemplateFigures]) -> str:
    """Return what puts a template in its place: dowels where each of its sheets has two holes, else lines, too."""
    holes = [len(sheet.dowels) for template in templates for sheet in template.placing]
    lines = "by its centre lines, drawn on the board too"
    by = "by dowels through the holes that it shares with the board"
    if not any(holes):
        by = lines
    elif min(holes) < 2:
        by += f", or where it has fewer than two, {lines}"
    return f"{by}; its text says how far the board's edge lies inside its own"


def _marking(plaques: Sequence[PlaqueFigures], scope: Scope) -> Iterator[Step]:
    by = "its edges, which stand over the board's by the same on opposite sides"
    if _has_register(plaques):
        by = "the dowels" if scope.begins else f"{by}, drill the dowel holes through it, put the dowels in"
    boards = "On boards that get no paper, lay" if scope.drawn else "Lay"
    yield Step(
        "Mark",
        f"{boards} the stencil on the face, lined up by {by}, and hold it flat. Draw round its openings, or dab paint "
        "through them. Lines finer than its webs aren't in it.",
    )


def _printing(plaques: Sequence[PlaqueFigures]) -> str:
    """Return how the pattern is printed, and joined where it takes more than one sheet."""
    if all(plaque.pattern.sheets == 1 for plaque in plaques if plaque.pattern):
        return "Print the pattern at full size and measure its bars."
    return "Print the pattern at full size, measure its bars, and join its sheets as its first page says."


def _pattern(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope) -> Iterator[Step]:
    """Yield how the drawing that the hand goes by comes onto the face."""
    by = "the board's edge"
    if _has_register(plaques):
        by = "the register marks"
    elif _has_pockets(plaques) and not scope.by_hand:
        by = "the pockets' walls"
    if scope.pattern and job.pattern.mirrored:
        how = f"lay it face down on the face, lined up by {by}, and transfer it by heat or carbon"
        yield Step("Transfer the pattern", f"{_printing(plaques)} It is mirrored: {how}.")
    elif scope.pattern:
        yield Step("Glue the pattern", f"{_printing(plaques)} Glue it to the face, lined up by {by}.")
    elif scope.carve:
        how = f"Print the drawing at full size, measure the print, and glue it to the face, lined up by {by}."
        yield Step("Glue the drawing", how)
    else:
        how = "What is left to do by hand goes by the paper pattern, and none was made: make the job again with the "
        how += f"same settings and pattern {_FILES}, print it, and glue it to the face, lined up by {by}."
        yield Step("Glue a pattern", how)


def _roughing_by_hand(plaques: Sequence[PlaqueFigures]) -> Iterator[Step]:
    if _has_pockets(plaques):
        yield Step(
            "Rough",
            "Take what is hatched down to the depth noted in it. (A machine could do that before the pattern is on the "
            f"face: that takes carve {_FILES}.)",
        )


def _hand_work(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> Iterator[Step]:
    if pare := _paring(job, plaques):
        yield Step("Pare", pare)
    if any(plaque.flow_lines.count for plaque in plaques):
        deepest = max(plaque.flow_lines.greatest_below_floor_mm for plaque in plaques)
        yield Step(
            "Flow lines",
            f"With the V tool cut the flow lines into the floors of the pockets, {words.depth(deepest)} deep at most.",
        )
    if _has_v_lines(plaques):
        paper = "drawing" if scope.carve and not scope.pattern else "pattern"
        yield Step("Carve", f"Cut the V lines along their centre. {_how_wide(job, paper, words)}")


def _how_wide(job: Job, paper: str, words: Words) -> str:
    """Return how wide the V tool's strokes are cut: what the sanding takes again is cut, too."""
    lost = 2 * half_angle_tan(job.v_tool.angle) * job.finish.sanding_loss
    tells = "A stroke's width tells its depth: cut until it is"
    if not lost:
        return f"{tells} as wide as on the {paper}."
    return f"{tells} {words.depth(lost)} wider than on the {paper}; the planned sanding makes it as narrow again."


def _paring(job: Job, plaques: Sequence[PlaqueFigures]) -> str:
    """Return what the gouge does in the pockets: to the line, and what a router's bit can't reach."""
    told = []
    if _has_pockets(plaques) and any(cutter.finishing_allowance for cutter in job.cutters):
        told.append("With the gouge take the wood between the pockets' walls and the edge of the shadow.")
    left = (t.unreached_mm2 + t.under_keys_mm2 + t.under_bridges_mm2 for t in templates_of(plaques))
    if any(area_mm2 >= LEAST_LEFT_MM2 for area_mm2 in left):
        told.append("Where the template kept the router's bit out of a pocket, clear it by hand to the same depth.")
    return " ".join(told)


def _finishing(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> Iterator[Step]:
    if any(plaque.shape != "rectangle" for plaque in plaques):
        by = "in the drawing" if scope.carve else "on the pattern"
        yield Step("Cut out", f"Cut the plaque out along the board's edge {by}, and smooth the edge.")
    if _has_register(plaques):
        yield Step(
            "Plug",
            "Glue plugs of the board's own wood into the dowel holes, their grain along the board's, or whittled pegs "
            "into holes too small for that, and trim them flush. A hole left open is painted and stays dark.",
        )
    paper = "" if scope.pattern and job.pattern.mirrored else "Take the paper and its glue off. "
    coats = {plaque.amounts.coats for plaque in plaques}
    many = coats_of(*coats) + (", as its sheet says" if len(coats) > 1 else "")
    yield Step("Paint", f"{paper}Paint the whole face, {many}, down into every cut. Let each dry as its tin says.")
    yield Step(
        "Sand",
        "Measure the board's thickness before the first stroke, then sand evenly: "
        f"{words.depth(job.finish.sanding_loss)} in all is planned. Measure often, at the same marked places.",
    )
    lines = _has_v_lines(plaques)
    limit = " Each plaque's sheet says how much is too much; stop before that even if paint is left." if lines else ""
    yield Step("Stop", f"Stop when the light parts are clean wood.{limit}")
    if lines:
        yield Step(
            "Re-cut",
            "Where a line has grown thin or gone, cut it again from the sanded face and paint it with a fine brush. "
            "Each plaque's sheet lists the strokes that go first: look at those.",
        )


def templates_of(plaques: Sequence[PlaqueFigures]) -> list[TemplateFigures]:
    """Return the router templates that were made."""
    return [plaque.template for plaque in plaques if plaque.template]


def _has_pockets(plaques: Sequence[PlaqueFigures]) -> bool:
    return any(plaque.pockets for plaque in plaques)


def _has_v_lines(plaques: Sequence[PlaqueFigures]) -> bool:
    return any(plaque.v_lines.count for plaque in plaques)


def _has_register(plaques: Sequence[PlaqueFigures]) -> bool:
    return any(plaque.register for plaque in plaques)
