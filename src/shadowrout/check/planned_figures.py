"""Figures of numbers.json that follow from the settings, or from each other."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.check.told_against import FINE_MM, NUMBERS, Row, length, number, text, within

_JOB = "job.toml"
_TENTH = 0.06
"""Half of the tenth to which areas, volumes and lengths of many lines are given, and a little."""
_ROUNDED_MM = 0.01
"""Above half of the hundredth to which mean widths are given."""
_MINUTES = 0.006
"""Half of the hundredth of a minute to which times are given, and a little."""
_GRAMS_KG = 0.00011
"""Twice half of the four decimals of a weight."""
_SHARE = 0.0006
"""What a share of four decimals, and sums of rounded lengths, may be off."""
_MM2_PER_SQUARE = 10_000.0
"""The 10 x 10 cm that the shop's rates are for."""


def of_job(plaque: PlaqueFiles, whole: NumbersTable) -> Iterator[Row]:
    """Yield for each figure of the whole job what is wrong with it, or nothing."""
    job = plaque.job
    yield text(_JOB, "the method", whole.text("method"), job.tone.method)
    yield text(_JOB, "the picture's name", whole.text("picture"), job.picture.file.name)
    whole.text("program")
    whole.texts("notes")
    whole.tables("stock")
    pictures = whole.tables("made_of")
    given = [path.name for path in (job.picture.file, job.picture.touch_up) if path is not None]
    yield text(_JOB, "the list of pictures", [picture.text("file") for picture in pictures], given)
    for picture in pictures:
        yield within("a picture's size", picture.number("bytes"), 1, math.inf, unit=" bytes")
        picture.text("sha256")
    names = [told.text("name") for told in whole.tables("plaques")]
    yield text(_JOB, "the list of plaques", names, [str(p.name) for p in job.plaques])


def of_plaque(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield for each figure of a plaque that needs no drawing what is wrong with it, or nothing."""
    yield from _picture_box(plaque, numbers)
    yield from _widths(plaque, numbers)
    yield from _pockets(plaque, numbers)
    yield from _amounts(plaque, numbers)
    yield from _times(plaque, numbers)
    yield from _pattern(plaque, numbers)
    yield from _v_lines(plaque, numbers)
    for key in ("dark_share", "rest_share", "uncut_share"):
        yield within(key, numbers.number(key), 0, 1)
    numbers.texts("files")
    yield from _grain(plaque, numbers)
    for key in ("specks_removed", "pinholes_filled", "slivers_dropped"):
        yield within(key, numbers.number(key), 0, math.inf)


def _grain(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    fragile, (width, height) = numbers.table("fragile_light"), plaque.settings.size or (0.0, 0.0)
    longer = "along-width" if width >= height else "along-height"
    if fragile is not None:
        yield text(_JOB, "the way the grain runs", fragile.text("grain"), plaque.job.wood.grain or longer)


def _picture_box(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the picture doesn't lie in the middle of the board's width, nor within the margin as asked for."""
    x0, y0, x1, y1 = numbers.numbers("picture_box_mm", 4)
    (width, height), settings = plaque.settings.size or (0.0, 0.0), plaque.settings
    zero_x, zero_y = (-width / 2, -height / 2) if plaque.job.output.origin == "centre" else (0.0, 0.0)
    yield within("picture_box_mm's width", x1 - x0, FINE_MM, math.inf, unit=" mm")
    yield within("picture_box_mm's height", y1 - y0, FINE_MM, math.inf, unit=" mm")
    yield length(
        _JOB, "the board's middle, and so that of picture_box_mm,", (x0 + x1) / 2, zero_x + width / 2, 2 * FINE_MM
    )
    margin = settings.margin - 2 * FINE_MM
    if settings.fit == "inside":
        yield within("picture_box_mm's left side", x0, zero_x + margin, zero_x + width, unit=" mm")
        yield within("picture_box_mm's lower side", y0, zero_y + margin, zero_y + height, unit=" mm")
        yield within("picture_box_mm's upper side", y1, zero_y, zero_y + height - margin, unit=" mm")
    elif settings.shape in ("rectangle", "rounded"):
        yield within("picture_box_mm's left side", x0, -math.inf, zero_x + settings.margin + FINE_MM, unit=" mm")
        yield within("picture_box_mm's lower side", y0, -math.inf, zero_y + settings.margin + FINE_MM, unit=" mm")
    yield within("pixel_mm", numbers.number("pixel_mm"), FINE_MM, plaque.job.tone.detail or 0.0, unit=" mm")


def _widths(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    widths = numbers.table("widths")
    if widths is None:
        return
    yield length(_JOB, "the finest line", widths.number("finest_mm"), plaque.job.tone.detail or 0.0)
    dropped = widths.tables("dropped")
    there = sum(stroke.number("length_mm") for stroke in dropped)
    slack = _TENTH * (len(dropped) + 1)
    yield length(NUMBERS, "the length of all strokes dropped", widths.number("dropped_mm"), there, slack)
    for key in ("kept_mm", "widened", "widened_mm"):
        yield within(f"widths.{key}", widths.number(key), 0, math.inf)


def _pockets(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where a pocket isn't of a cutter of the job, at its depth, in its passes, of its volume, in its order."""
    pockets = numbers.tables("pockets")
    order = [pocket.number("number") for pocket in pockets]
    yield text(NUMBERS, "the pockets' order", order, list(map(float, range(1, len(pockets) + 1))))
    cutters = {cutter.diameter: cutter for cutter in plaque.job.cutters}
    finish = plaque.job.finish
    for pocket, count in zip(pockets, order, strict=True):
        name, depth, across = f"of pocket {count:g} ", pocket.number("depth_mm"), pocket.number("cutter_mm")
        area, volume = pocket.number("area_mm2"), pocket.number("volume_mm3")
        # The area is told to a hundredth.
        yield number(NUMBERS, f"the volume {name}", volume, area * depth, _TENTH + 0.006 * depth, unit=" mm3")
        cutter = cutters.get(across)
        if cutter is None:
            yield f"{NUMBERS}: pocket {count:g} is for a cutter of {across:g} mm, and job.toml has none"
            continue
        depths = [
            cutter.depth or 0.0,
            *([] if finish.deeper_from is None else [(cutter.depth or 0) + finish.deeper_by]),
        ]
        if not any(abs(depth - planned) <= FINE_MM for planned in depths) and finish.deeper_from is None:
            yield length(_JOB, f"the depth {name}", depth, depths[0])
        if cutter.depth_per_pass and not math.isnan(depth):
            passes = math.ceil(depth / cutter.depth_per_pass - 1e-6)
            yield number(_JOB, f"the number of passes {name}", pocket.number("passes"), max(passes, 1))
    areas = [(pocket.number("cutter_mm"), pocket.number("area_mm2")) for pocket in pockets]
    largest_first = sorted(areas, key=lambda of: (-of[0], -of[1]))
    if areas != largest_first and not any(math.isnan(value) for row in areas for value in row):
        yield f"{NUMBERS}: the pockets don't stand in their order, the largest cutter and the largest pocket first"
    yield from _idle(plaque, numbers)


def _idle(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the cutters without a pocket aren't those of the job that have none."""
    idle = sorted(cutter.number("cutter_mm") for cutter in numbers.tables("idle_cutters"))
    used = {pocket.number("cutter_mm") for pocket in numbers.tables("pockets")}
    if set(plaque.job.output.files) - {"stencil"}:
        unused = sorted(c.diameter for c in plaque.job.cutters if c.diameter not in used)
        yield text(_JOB, "the list of cutters without a pocket", idle, unused)


def _amounts(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield what is wrong with board, weight and paint: sizes by the settings, each weight by the other's."""
    amounts = numbers.table("amounts")
    if amounts is None:
        return
    settings, finish = plaque.settings, plaque.job.finish
    yield text(_JOB, "the wood", amounts.text("wood"), settings.wood or finish.wood)
    coats = amounts.number("coats")
    yield number(_JOB, "the number of coats", coats, settings.coats or finish.coats, FINE_MM)
    width, height = settings.size or (0.0, 0.0)
    blank = width * height * settings.thickness
    yield number(_JOB, "the board's volume", amounts.number("blank_mm3"), blank, _TENTH, unit=" mm3")
    face, painted, removed = (amounts.number(key) for key in ("face_mm2", "painted_mm2", "removed_mm3"))
    litres = painted / 1e6 * coats / plaque.job.shop.paint_coverage
    yield number(NUMBERS, "the paint", amounts.number("paint_litres"), litres, 0.0001, unit=" l")
    carved = face * settings.thickness - removed
    weight = amounts.number("blank_kg") * carved / blank if blank else math.nan
    yield number(NUMBERS, "the carved plaque's weight", amounts.number("plaque_kg"), weight, _GRAMS_KG, unit=" kg")
    yield within("amounts.removed_mm3", removed, 0, face * settings.thickness, unit=" mm3")
    yield within("amounts.painted_mm2", painted, 0.5 * face, math.inf, unit=" mm2")
    # Dry wood weighs from 0.1 (balsa) to 1.3 (lignum vitae) times as much as water (common knowledge, no source).
    density = 1e6 * amounts.number("blank_kg") / blank if blank else math.nan
    yield within("the weight of a litre of the board", density, 0.1, 1.3, unit=" kg")


def _times(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield what is wrong with the times that follow from amounts and rates; no time is less than nothing."""
    times, shop = numbers.tables("times"), plaque.job.shop
    minutes = {task.text("name"): task.number("minutes") for task in times}
    by = {task.text("name"): task.text("by") for task in times}
    amounts = numbers.table("amounts")
    wanted: dict[str, float] = {"glue the pattern": shop.gluing}
    if amounts is not None:
        square = amounts.number("painted_mm2") / _MM2_PER_SQUARE
        wanted["paint"] = square * shop.painting * amounts.number("coats")
        wanted["sand"] = amounts.number("face_mm2") / _MM2_PER_SQUARE * shop.sanding
    cutters = {pocket.number("cutter_mm") for pocket in numbers.tables("pockets")}
    wanted["set up the machine"] = len(cutters) * shop.set_up
    template = numbers.made("template")
    wanted["fix the template"] = shop.placing * (template.number("sheets") if template else 0)
    wanted["mark by the stencil"] = shop.placing
    for name in ("cut the flow lines", "cut the V lines"):
        strokes = by.get(name, "").partition(" ")[0]
        if strokes.isdecimal() and len(strokes) < 9:
            wanted[name] = int(strokes) / shop.strokes_per_minute
    for name, told in minutes.items():
        yield within(f"the time to {name}", told, 0, math.inf, unit=" min")
        if name in wanted:
            yield number(NUMBERS, f"the time to {name}", told, wanted[name], _MINUTES, unit=" min")
    yield "" if len(minutes) == len(times) else f"{NUMBERS}: a kind of work stands among the times twice"


def _pattern(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    pattern = numbers.made("pattern")
    asked = "pattern" in plaque.job.output.files
    yield text(_JOB, "whether a pattern is made", pattern is not None, asked)
    if pattern is None:
        return
    yield text(_JOB, "the paper", pattern.text("paper"), plaque.job.pattern.paper)
    sheets, rows, columns = (pattern.number(key) for key in ("sheets", "rows", "columns"))
    yield within("the pattern's sheets", sheets, 1, rows * columns)


def _v_lines(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where classes, strokes and what the sanding leaves don't add up to the lines' own count and length."""
    lines = numbers.table("v_lines")
    if lines is None:
        return
    count, whole = lines.number("count"), lines.number("length_mm")
    classes = lines.tables("classes")
    yield number(NUMBERS, "the count of V lines in all classes", count, sum(c.number("count") for c in classes))
    there = sum(c.number("length_mm") for c in classes)
    yield length(NUMBERS, "the length of V lines in all classes", whole, there, _TENTH * (len(classes) + 1))
    deepest = max((max(c.numbers("depth_mm", 2)) for c in classes), default=0.0)
    yield length(NUMBERS, "the greatest depth in all classes", lines.number("greatest_depth_mm"), deepest)
    gone = [stroke.number("gone_at_mm") for stroke in lines.tables("first_to_go")]
    yield "" if gone == sorted(gone) else f"{NUMBERS}: the strokes that go first don't stand in their order"
    if (sanding := lines.table("sanding")) is not None:
        yield from _sanding(plaque, sanding, count, whole, deepest)


def _wide(
    plaque: PlaqueFiles, rows: Sequence[Sequence[float]], losses: Sequence[float], deepest: float
) -> Iterator[Row]:
    """Yield where more width is left of a line than a groove of the greatest depth has after that sanding."""
    tan = math.tan(math.radians(plaque.job.v_tool.angle) / 2)
    for row in rows:
        for loss, wide in zip(losses, row, strict=True):
            most = max(2 * tan * (deepest - loss), 0) + _ROUNDED_MM
            yield within(f"a V line's width after {loss:g} mm of sanding", wide, 0, most, unit=" mm")


def _sanding(plaque: PlaqueFiles, sanding: NumbersTable, count: float, whole: float, deepest: float) -> Iterator[Row]:
    losses, shares = sanding.row("loss_mm"), sanding.row("share_left")
    yield length(_JOB, "the sanding loss", losses[0] if losses else math.nan, plaque.job.finish.sanding_loss)
    yield "" if _rise(losses) else f"{NUMBERS}: the sanding losses don't rise"
    yield "" if _rise(shares[::-1]) else f"{NUMBERS}: more is left of the V lines after more sanding"
    yield text(NUMBERS, "the number of sanding losses", len(shares), len(losses))
    for key in ("lengths_left_mm", "widths_left_mm"):
        rows = sanding.rows(key, len(losses))
        yield from _wide(plaque, rows, losses, deepest) if key == "widths_left_mm" else ()
        yield number(NUMBERS, f"the number of rows of {key}", len(rows), count)
        if key == "lengths_left_mm" and rows and whole > 0 and len(shares) == len(losses):
            slack = _SHARE + _TENTH * (len(rows) + 1) / whole
            for loss, told, left in zip(losses, shares, map(sum, zip(*rows, strict=True)), strict=True):
                yield number(NUMBERS, f"the share left after {loss:g} mm of sanding", told, left / whole, slack)
    if count > 0:
        sanding.number("too_much_mm")


def _rise(values: Sequence[float]) -> bool:
    return all(a <= b for a, b in itertools.pairwise(values))
