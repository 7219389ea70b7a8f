"""The closing words of a job: its table and what else a person should read, from its figures."""

from __future__ import annotations

from shadowrout.job.duration import told_time
from shadowrout.report.figures.job_figures import JobFigures, PlaqueFigures
from shadowrout.report.figures.pocket_figures import IdleCutter
from shadowrout.report.figures.stencil_figures import LostParts, StencilFigures
from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.jobsheet.fragile_section import told_of_fragile
from shadowrout.words.columns import columns
from shadowrout.words.sentences import Mm
from shadowrout.words.units import Unit
from shadowrout.words.wording import Words, counted, minutes


def summary(figures: JobFigures) -> str:
    """Return the closing words: how the picture was read, the table of what was made, and the files."""
    words = Words(figures.unit)
    told = f"{figures.picture}: {figures.method}, finest line {words.short(figures.detail_mm)}"
    if words.inches:
        told += "; files in inches, and inches on the job sheet (--unit mm for millimetres)"
    notes = [f"Note: {note}" for note in figures.notes]
    files = [f"{plaque.name}: {', '.join(plaque.files)}" for plaque in figures.plaques]
    idle = [_told_of_idle(plaque, cutter, words) for plaque in figures.plaques for cutter in plaque.idle_cutters]
    stencils = [_told_of_stencil(plaque.name, plaque.stencil, words) for plaque in figures.plaques if plaque.stencil]
    stock = [_told_of_stock(laid, words) for laid in figures.stock]
    fragile = told_of_fragile(figures.plaques, words)
    lighter = [_told_of_dark(plaque) for plaque in figures.plaques if plaque.loses_dark and _is_carved(plaque)]
    hours = [told for plaque in figures.plaques for told in _told_of_hours(plaque)]
    closing = [*_told_of_times(figures), *hours, *fragile, *lighter, *idle, *stencils, *files, *stock]
    return "\n".join([told, *notes, "", table(figures), "", *closing])


def _is_carved(plaque: PlaqueFigures) -> bool:
    """Return whether something was made to carve a plaque by: its stencil alone tells nothing of the V tool."""
    return any(name.startswith(("carve", "pattern", "preview", "template")) for name in plaque.files)


def _told_of_dark(plaque: PlaqueFigures) -> str:
    """Return how much of a plaque's shadow stays dark, why not more, and what would help."""
    return (
        f"{plaque.name}: {plaque.dark_left_share:.1%} of its shadow stays dark after the planned sanding; the rest is "
        "edges and corners too fine for the V tool, and a larger plaque or a larger --detail would keep more"
    )


def _told_of_idle(plaque: PlaqueFigures, cutter: IdleCutter, words: Words) -> str:
    """Return that a cutter has no pocket, why, and what would help."""
    diameter, needs = words.short(cutter.cutter_mm), words.short(cutter.needs_mm)
    told = f"{plaque.name}: the {diameter} cutter has no pocket: "
    if cutter.widest_shadow_mm < cutter.needs_mm:
        widest = words.short(cutter.widest_shadow_mm)
        return (
            f"{told}it needs a shadow {needs} wide, allowance included, and the widest is {widest}; "
            "a smaller cutter, a larger plaque or more --dark would help"
        )
    least = Mm.area(cutter.least_pocket_mm2).told(Unit(words.unit), ".4g mm")
    return (
        f"{told}what it could rough out is smaller than its least pocket of {least}, or a "
        "larger cutter takes it; --least-pocket or a larger plaque would help"
    )


def _told_of_stock(laid: StockFigures, words: Words) -> str:
    sheets, pieces = counted(len(laid.sheets), f"{laid.of} sheet"), counted(laid.pieces, "piece")
    return f"stock: {sheets} on {pieces} of {words.short_size(laid.size_mm)}: {', '.join(laid.files)}"


def _told_of_times(figures: JobFigures) -> list[str]:
    """Return about how long each plaque takes, at the rates of the job's own settings; nothing where none is known."""
    sums = [(plaque.name, plaque.minutes) for plaque in figures.plaques if plaque.times]
    each = ", ".join(f"{name} {minutes(value)}" for name, value in sums)
    return [f"work, about: {each} (drying not counted; your own rates go under [shop])"] if sums else []


def _told_of_hours(plaque: PlaqueFigures) -> list[str]:
    """Return what a plaque's limit of hours came to, and what brings back what was left out; nothing without one."""
    hours = plaque.hours
    if hours.asked is None:
        return []
    within = f"within {told_time(hours.asked)}{' in all' if hours.asked_of == 'all' else ' by hand'}"
    told = f"{plaque.name}: {within} with {hours.lines} lines"
    if not hours.left_out.any:
        return [told]
    return [
        f"{told}, {counted(hours.left_out.lines, 'V line')} left out (left-out.png); a larger --hours brings "
        "them back, --lines all without --hours draws all, and a box under picture.fine keeps what lies in it"
    ]


def _told_of_stencil(name: str, stencil: StencilFigures, words: Words) -> str:
    told = [
        f"{name}: the stencil has {counted(stencil.bridges, 'bridge')}",
        f"{stencil.carved_dark_closed_share:.0%} of the carved design's dark is finer than its webs of "
        f"{words.short(stencil.web_mm)} allow and stays closed",
    ]
    if (shadows := stencil.carved_shadows_closed).count:
        told[-1] += f", {counted(shadows.count, 'shadow')} whole, of {_area(shadows, words)} at most"
    if (islands := stencil.carved_islands_open).count:
        what = f"{counted(islands.count, 'island')} of its light, of {_area(islands, words)} at most"
        told.append(f"{what}, {'is' if islands.count == 1 else 'are'} too small for it and cut out with the dark")
    return "; ".join(told)


def _area(lost: LostParts, words: Words) -> str:
    return Mm.area(lost.largest_mm2).told(Unit(words.unit), "g mm")


def table(figures: JobFigures) -> str:
    """Return the closing table: one line for each plaque."""
    head = (
        "plaque",
        "size",
        "shadows",
        "pockets",
        "depth",
        "V lines",
        "widened",
        "dropped",
        "dark",
        "stays dark",
        "sand at most",
        "lines + arcs",
        "off by",
        "by hand",
        "left out",
    )
    rows = [head, *(_row(plaque, Words(figures.unit)) for plaque in figures.plaques)]
    return columns(rows)


def _row(plaque: PlaqueFigures, words: Words) -> tuple[str, ...]:
    depths = sorted({pocket.depth_mm for pocket in plaque.pockets})
    outlines = plaque.outlines
    left = plaque.hours.left_out
    too_much = plaque.v_lines.sanding.too_much_mm
    return (
        plaque.name,
        words.short_size(plaque.size_mm),
        str(plaque.shadows),
        str(len(plaque.pockets)),
        ", ".join(map(words.short, depths)) or "-",
        str(plaque.v_lines.count),
        words.short(plaque.widths.widened_mm, decimals=0),
        words.short(plaque.widths.dropped_mm, decimals=0),
        f"{plaque.dark_share:.0%}",
        f"{plaque.dark_left_share:.1%}",
        "-" if too_much is None else words.short_most(too_much),
        f"{outlines.lines} + {outlines.arcs}",
        words.short(outlines.largest_deviation_mm, decimals=3),
        told_time(plaque.hours.by_hand),
        f"{left.lines} lines, {Mm.area(left.mm2).told(Unit(words.unit), '.3g mm')}" if left.any else "-",
    )
