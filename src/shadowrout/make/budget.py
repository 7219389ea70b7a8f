"""A plaque within its hours: the finest lines whose work fits, and where none do, the least worth left out."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.fragile_light import NARROW_MM
from shadowrout.carving.trimming import LeftOut, Piece, kept_within, pieces_of, specks_of, without_pieces
from shadowrout.carving.worth import sampled, worth_of_lines, worth_of_pixels
from shadowrout.design.plaque_design import PlaqueDesign
from shadowrout.design.two_tone import two_tone_design
from shadowrout.errors import SettingError
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.job.duration import told_time
from shadowrout.job.options import FEWEST, LINES, USUAL_LINES, Job, Lines
from shadowrout.make.plaque import MadePlaque, PlaqueToMake, carved_plaque, coarse_of, make_plaque
from shadowrout.make.plaque_files import board_of
from shadowrout.picture.photo import Photo, resampled
from shadowrout.report.figures.amounts import Surface, surface_of
from shadowrout.report.figures.times import by_hand, line_minutes, pocket_minutes_by_hand, tasks_of

LEAST_MET = 0.95
"""The share of its hours that a plaque takes at least from which something was left out."""

AIMED = 0.98
"""The share of them that is aimed at: what was left out is planned anew, and that moves the hours a little."""

TRIES = 8
"""Plans tried for hours, each nearer to them."""

SURE = 1.3
"""A guess of the work this far over the hours, as a factor, or as far below, needs no plan to tell that it is so."""

SPECK_MM2 = np.pi / 4 * NARROW_MM**2
"""Light smaller than a disc as wide as a ridge that may break is a speck that may break off."""

MUST_STAY = 0.5
"""A speck stays where the picture must keep this share of its fine detail."""

Step = Callable[[str], None]


def limits_hours(job: Job) -> bool:
    """Return whether a plaque of the job may take no more than some hours."""
    return any(plaque.hours is not None for plaque in job.plaques)


def levels_of(job: Job, asked: Lines | None) -> tuple[Lines, ...]:
    """Return the amounts of line that a settled job may be drawn with, from the most; ``asked`` is the most."""
    if job.tone.method != "keep-lines":
        return (job.tone.lines or USUAL_LINES,)
    levels = (*reversed(LINES), FEWEST)
    return levels[levels.index(asked) :] if asked else levels


def plaque_within_hours(plaque: PlaqueToMake, *, step: Step = lambda name: None) -> MadePlaque:
    """Return one plaque worked out so that its work takes no more than its hours, where it has such.

    Raises SettingError with the hours of the plainest design where they are out of reach, and the errors of
    ``make_plaque``.
    """
    budget = _Budget.of(plaque)
    if budget is None:
        return make_plaque(plaque, step=step)
    levels = [_at_level(plaque, level) for level in plaque.levels]
    guesses = _guesses(levels)
    likely = [n for n, guess in enumerate(guesses) if guess <= budget.minutes]
    number = likely[0] if likely else len(levels) - 1
    made: dict[int, MadePlaque] = {}

    def fits(number: int) -> bool:
        """Return whether the work at a level fits; a plan tells where the guess leaves a doubt."""
        if number in made or guesses[number] <= SURE * budget.minutes:
            made[number] = made.get(number) or make_plaque(levels[number], step=step)
            return budget.taken(made[number]) <= budget.minutes
        return False

    while number + 1 < len(levels) and not fits(number):
        number += 1
    while number > 0 and fits(number) and fits(number - 1):
        number -= 1
    if fits(number):
        return made[number]
    number = max(0, len(levels) - 2)
    whole = made.get(number) or make_plaque(levels[number], step=step)
    return _trimmed(levels[number], whole, budget, step=step)


@dataclass(frozen=True)
class _Budget:
    """The minutes that a plaque may take, by hand alone or in all."""

    minutes: float
    by_hand: bool
    job: Job

    @classmethod
    def of(cls, plaque: PlaqueToMake) -> _Budget | None:
        asked = plaque.layout.plaque
        return None if asked.hours is None else cls(60 * asked.hours, asked.hours_of == "hand", plaque.job)

    def taken(self, made: MadePlaque) -> float:
        """Return the minutes of a plaque as its figures tell them."""
        nothing = Surface(0.0, 0.0, 0.0, 0.0, 0.0)
        surface = nothing if self.by_hand else surface_of(board_of(self.job, made))
        tasks = tasks_of(
            self.job,
            made.carving.plan,
            surface,
            coats=made.plaque.coats or self.job.finish.coats,
            stencil=made.stencil.stencil if made.stencil else None,
            template=made.template.template if made.template else None,
        )
        return by_hand(tasks) if self.by_hand else sum(task.minutes for task in tasks)


def _at_level(plaque: PlaqueToMake, lines: Lines) -> PlaqueToMake:
    tone = dataclasses.replace(plaque.job.tone, lines=lines)
    return dataclasses.replace(plaque, job=dataclasses.replace(plaque.job, tone=tone))


def _guesses(levels: Sequence[PlaqueToMake]) -> list[float]:
    """Return about how many minutes each level's strokes and walls take, by the bare pixels of its design."""
    return [_guess(level) for level in levels]


def _guess(plaque: PlaqueToMake) -> float:
    """Return the minutes of strokes along a design's skeleton, and of walls where a cutter fits.

    A level whose share of dark is out of reach takes for ever.
    """
    from skimage.morphology import skeletonize  # it takes long to load, and few jobs need it

    job, shop = plaque.job, plaque.job.shop
    try:
        mask = two_tone_design(job, plaque.pictures.photo, plaque.resolution, touch_up=plaque.pictures.touch_up)
    except SettingError as error:
        if error.key != "tone.dark" or len(plaque.levels) == 1:
            raise
        return np.inf
    dark = mask.field > 0
    radius_px = min(c.diameter / 2 + c.finishing_allowance for c in job.cutters) / mask.pixel_mm
    away = cv2.distanceTransform(dark.view(np.uint8), cv2.DIST_L2, 5)
    floor = (away > radius_px).astype(np.uint8)
    pocket = cv2.distanceTransform(1 - floor, cv2.DIST_L2, 5) <= radius_px if floor.any() else floor > 0
    skeleton: NDArray[np.bool_] = skeletonize(dark)  # type: ignore[no-untyped-call]
    way_mm = float(np.count_nonzero(skeleton & ~pocket)) * mask.pixel_mm
    walls, _ = cv2.findContours(pocket.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    wall_mm = sum(cv2.arcLength(wall, True) for wall in walls) * mask.pixel_mm
    return float(way_mm / shop.stroke_length / shop.strokes_per_minute + wall_mm / shop.paring)


def _trimmed(plaque: PlaqueToMake, whole: MadePlaque, budget: _Budget, *, step: Step) -> MadePlaque:
    """Return a plaque that takes too long with light specks filled, and then as much left out as it must be."""
    coarse = coarse_of(plaque.job, plaque.layout, plaque.pictures)
    specks = _specks(plaque, whole.drawn.design.shadow)
    if not specks.is_empty:
        filled = carved_plaque(
            plaque, _redrawn(whole.drawn, whole.drawn.design.shadow.union(specks)), coarse, step=step
        )
        taken = budget.taken(filled)
        if taken < LEAST_MET * budget.minutes:
            specks = Region.empty()
        elif taken <= budget.minutes:
            return dataclasses.replace(filled, left_out=LeftOut(Region.empty(), 0, specks))
        else:
            whole = filled
    pieces = _pieces(plaque, whole)
    shadow, plan = whole.drawn.design.shadow, whole.carving.plan

    def made_with(minutes: float) -> MadePlaque:
        kept = kept_within(pieces, minutes) or pieces[:1]
        stays = set(kept)
        gone = [piece for piece in pieces if piece not in stays]
        left = without_pieces(shadow, plan, gone)
        made = carved_plaque(plaque, _redrawn(whole.drawn, left), coarse, step=step)
        lines = sum(len(piece.lines) for piece in gone)
        return dataclasses.replace(made, left_out=LeftOut(shadow.difference(left), lines, specks))

    return _searched(made_with, budget, whole, pieces)


def _searched(
    made_with: Callable[[float], MadePlaque], budget: _Budget, whole: MadePlaque, pieces: Sequence[Piece]
) -> MadePlaque:
    """Return what takes nearly the budget, of what keeps more or less of the pieces' minutes.

    Where pieces are so few and long that none comes near it, the one that takes the most within it.
    """
    most = sum(piece.minutes for piece in pieces)
    low, high, best = 0.0, most, None
    aim = most + AIMED * budget.minutes - budget.taken(whole)
    for _ in range(TRIES):
        if not low < aim < high:
            aim = (low + high) / 2
        made = made_with(aim)
        taken = budget.taken(made)
        if taken <= budget.minutes:
            low, best = aim, made
            if taken >= LEAST_MET * budget.minutes:
                return made
        else:
            high = aim
        aim += AIMED * budget.minutes - taken
    if best is None:
        best = made_with(0.0)
        if budget.taken(best) > budget.minutes:
            raise _out_of_reach(budget, budget.taken(best))
    return best


def _out_of_reach(budget: _Budget, least: float) -> SettingError:
    what = "by hand" if budget.by_hand else "in all"
    least_hours = np.ceil(least) / 60
    return SettingError(
        "plaque.hours",
        f"{told_time(budget.minutes / 60)} is out of reach: the plainest design takes {told_time(least_hours)} {what}; "
        "give that or more, a smaller plaque, or less --dark",
    )


def _pieces(plaque: PlaqueToMake, whole: MadePlaque) -> tuple[Piece, ...]:
    """Return what can be left out of a plaque, the most worth for its minutes first."""
    plan, shop = whole.carving.plan, plaque.job.shop
    photo, grid = _photo(plaque), _grid(plaque)
    worth = worth_of_pixels(photo.lightness, photo.fine, pixel_mm=grid.pixel_mm)
    return pieces_of(
        whole.carving.written,
        plan,
        line_minutes=[line_minutes(line, shop) for line in plan.v_lines],
        pocket_minutes=[pocket_minutes_by_hand(pocket, plaque.job) for pocket in plan.pockets],
        line_worths=worth_of_lines(plan.v_lines, worth, grid).tolist(),
    )


def _specks(plaque: PlaqueToMake, shadow: Region) -> Region:
    """Return the light specks of a shadow that may break off and don't lie where fine detail must stay."""
    specks = specks_of(shadow, below_mm2=SPECK_MM2)
    fine = _photo(plaque).fine
    if fine is None or specks.is_empty:
        return specks
    places = np.array([part.widest_spot(precision=0.05)[0] for part in specks.parts()])
    stays = sampled(fine, _grid(plaque), *places.T) >= MUST_STAY
    return Region.together(part for part, kept in zip(specks.parts(), stays, strict=True) if not kept)


def _redrawn(drawn: PlaqueDesign, shadow: Region) -> PlaqueDesign:
    """Return a plaque's design with another shadow."""
    design = drawn.design
    share = design.dark_share * shadow.area / design.shadow.area
    return dataclasses.replace(drawn, design=dataclasses.replace(design, shadow=shadow, dark_share=share))


def _photo(plaque: PlaqueToMake) -> Photo:
    """Return the picture at the plaque's working resolution."""
    pixels = plaque.resolution
    return resampled(plaque.pictures.photo, width_px=pixels.width_px, height_px=pixels.height_px)


def _grid(plaque: PlaqueToMake) -> Grid:
    """Return the working pixels in their place on the board."""
    return Grid(plaque.layout.picture_box_mm, plaque.resolution.pixel_mm)
