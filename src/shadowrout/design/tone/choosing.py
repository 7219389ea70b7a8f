"""Choosing the method and the share of dark, and running the method that was chosen."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shadowrout.design.tone import keep_lines, thresholds, two_peaks
from shadowrout.design.tone.fields import Field, blurred, looked_at
from shadowrout.design.tone.levels import level_at_share, otsu_level
from shadowrout.design.tone.share_score import Likeness, plainest
from shadowrout.design.tone.shares import steady_share
from shadowrout.errors import InputError, SettingError
from shadowrout.job.options import METHODS
from shadowrout.picture.photo import Photo
from shadowrout.words.sentences import Mm, Sentence

SHARE_ERROR = 0.02
"""How far the share of dark may lie from what was asked for."""
TRIES = 8
"""Levels tried for a share, each nearer to it but where the share jumps."""
LEAST_STEP = 0.1
"""Share of the way between two levels that a new one is from both at least."""
LEAST_SHARE = 0.001
"""Share of dark below which there is as good as none."""
LEAST_CONTRAST = 3.0
"""Difference of CIE L* below which a picture counts as all one grey."""
SMOOTHING_OF_DETAIL = 0.25
"""Smoothing over the finest line's width, where not set; "keep-lines" has its own."""
WINDOW_OF_DETAIL = 15.0
"""Sauvola's window over the finest line's width."""
SHARES_TRIED = 5
"""Shares of dark tried between two that both have a claim."""
LOOK_PX = 400
"""Longer side of the picture for choosing a share."""
LOOK_DETAIL = 0.0075
"""Finest line over the picture's width while choosing: 0.8 mm on 107 mm, three pixels of such a look."""


@dataclass(frozen=True, eq=False)
class Tone:
    """A field of shape (height, width), positive where shadow, whose zero level is the shadow's edge.

    Pixels are ``pixel_mm`` wide on the wood; between their centres the field is meant linearly.
    """

    field: NDArray[np.float32]
    pixel_mm: float
    method: str


def choose_method(photo: Photo) -> str:
    """Return "two-tone" where the picture has two tones already, else "keep-lines"."""
    return "two-tone" if _is_flat(photo.lightness) or two_peaks.fits(photo.lightness) else "keep-lines"


def choose_dark(photo: Photo, method: str, lines: str = "all") -> float:
    """Return a share of dark that fits the picture, above 0 and below 1, rounded to 3 decimals.

    For "keep-lines" see ``shares.steady_share``; without texture the picture's tones may split elsewhere, so of shares
    from what it gives with the amount of ``lines`` to what it gives with all the one is taken that
    ``share_score.plainest`` picks. For the others it is what the method's own level gives.
    Raises SettingError for an unknown method and InputError for a picture of one grey.
    """
    _check_method(method)
    if _is_flat(photo.lightness):
        raise _nothing_to_carve(photo)
    look = _looked_at(photo, LOOK_PX)
    detail_px = LOOK_DETAIL * look.lightness.shape[1]
    smoothing_px = 0.0 if method == "two-tone" else _own_smoothing_px(photo, method, look.lightness.shape, detail_px)
    if method == "keep-lines":
        amounts = dict.fromkeys(("all", lines))
        fields = [_darkness(look, method, detail_px, smoothing_px, amount) for amount in amounts]
        steady = [steady_share(field, look.lightness) for field in fields]
        return _plainest_share(fields[-1], look, min(steady), max(steady), detail_px)
    dark_field = _darkness(look, method, detail_px, smoothing_px)
    share = float(np.mean(_at_own_level(dark_field, method) > 0))
    return min(max(round(share, 3), 0.001), 0.999)


def _plainest_share(dark_field: Field, look: Photo, least: float, most: float, detail_px: float) -> float:
    """Return the share from ``least`` to ``most`` whose design is the plainest that is like the picture."""
    if most - least < SHARE_ERROR / 2:
        return most
    shares = np.linspace(least, most, SHARES_TRIED).round(3).tolist()
    designs = [_cut(dark_field, "keep-lines", share, detail_px) > 0 for share in shares]
    return float(shares[plainest(designs, Likeness(look.lightness, look.fine))])


def tone_of(
    photo: Photo,
    *,
    pixel_mm: float,
    method: str,
    dark: float | None,
    detail_mm: float,
    smoothing_mm: float | None,
    lines: str = "all",
    or_nearest: bool = False,
) -> Tone:
    """Return the field of what becomes shadow when ``photo`` is carved at ``pixel_mm`` a pixel.

    ``method`` is one of METHODS. ``dark`` is the wanted share of shadow, more than 0 and less than 1; None takes
    the picture's own level, and for "keep-lines" what comes nearest to the share of ``choose_dark``.
    ``detail_mm`` is the finest line. ``smoothing_mm`` is the sigma of a Gaussian; None takes a quarter of the finest
    line, for "keep-lines" less on a small plaque, and for "two-tone" what its bare pixels need, nothing where its
    edges are grey. ``lines`` is the amount of lines that "keep-lines" draws, one of LINES. Raises SettingError for a
    setting out of range and for a share that this picture can't reach, naming the nearest that it can, unless
    ``or_nearest`` takes that one; InputError for a picture of one grey.
    """
    _check_method(method)
    if dark is not None and not 0 < dark < 1:
        raise SettingError("tone.dark", f"{dark:g} is not between 0 and 1, for example 0.3")
    if not detail_mm > 0:
        told = Sentence("{detail} is not a width, for example {usual}", detail=Mm(detail_mm), usual=Mm(0.8))
        raise SettingError("tone.detail", told)
    if smoothing_mm is not None and not smoothing_mm >= 0:
        told = Sentence(
            "{smoothing} is below 0; give 0 for none, or for example {usual}", smoothing=Mm(smoothing_mm), usual=Mm(0.2)
        )
        raise SettingError("tone.smoothing", told)
    if _is_flat(photo.lightness):
        raise _nothing_to_carve(photo)
    detail_px = detail_mm / pixel_mm
    own_px = _own_smoothing_px(photo, method, photo.lightness.shape, detail_px)
    smoothing_px = own_px if smoothing_mm is None else smoothing_mm / pixel_mm
    dark_field = _darkness(photo, method, detail_px, smoothing_px, lines)
    if dark is not None:
        field = _at_share(dark_field, method, dark, detail_px, or_nearest=or_nearest)
    elif method == "keep-lines":
        field = _nearest_cut(dark_field, method, choose_dark(photo, method, lines), detail_px)
    else:
        field = _at_own_level(dark_field, method)
    return Tone(field, pixel_mm, method)


def within_reach(
    photo: Photo,
    *,
    dark: float,
    width_mm: float,
    detail_mm: float,
    smoothing_mm: float | None,
    lines: str = "all",
) -> float:
    """Return ``dark``, or the share nearest to it that "keep-lines" can meet with ``photo`` at ``width_mm``.

    Where dark parts are few or faint for the finest line ``detail_mm``, less than was wanted can be kept. Judged on
    the method's own working pixels, and where those say no on the photo's. ``smoothing_mm`` and ``lines`` as for
    ``tone_of``.
    Rounded to 3 decimals. Raises InputError for a picture of one grey.
    """
    if _is_flat(photo.lightness):
        raise _nothing_to_carve(photo)
    height, width = photo.lightness.shape
    scale = keep_lines.working_scale((height, width), detail_px=detail_mm * width / width_mm)
    working = _looked_at(photo, math.ceil(max(height, width) * scale))
    for look in (working,) if working is photo else (working, photo):
        pixel_mm = width_mm / look.lightness.shape[1]
        detail_px = detail_mm / pixel_mm
        own_px = _own_smoothing_px(photo, "keep-lines", look.lightness.shape, detail_px)
        smoothing_px = own_px if smoothing_mm is None else smoothing_mm / pixel_mm
        dark_field = _darkness(look, "keep-lines", detail_px, smoothing_px, lines)
        nearest = _share_of(_nearest_cut(dark_field, "keep-lines", dark, detail_px))
        if abs(nearest - dark) <= SHARE_ERROR / 2:
            return dark
    return round(nearest, 3)


def _own_smoothing_px(photo: Photo, method: str, shape: tuple[int, int], detail_px: float) -> float:
    """Return the method's smoothing where none is set, for work on pixels of ``shape``."""
    if method == "two-tone":
        return two_peaks.stairs_px(photo.lightness, enlarged=photo.lightness.shape[1] / photo.full_width_px)
    if method == "keep-lines":
        return keep_lines.SMOOTHING_OF_SIGMA * keep_lines.sigma_of(shape, detail_px=detail_px)
    return SMOOTHING_OF_DETAIL * detail_px


def _looked_at(photo: Photo, long_side_px: int) -> Photo:
    """Return the photo with its lightness and fine detail so large on the longer side, never enlarged."""
    lightness = looked_at(photo.lightness, long_side_px)
    if lightness is photo.lightness:
        return photo
    fine = None if photo.fine is None else looked_at(photo.fine, long_side_px)
    return replace(photo, lightness=lightness, fine=fine)


def _darkness(photo: Photo, method: str, detail_px: float, smoothing_px: float, lines: str = "all") -> Field:
    """Return the method's darkness, which still has to be cut at a level."""
    lightness = photo.lightness
    if method == "keep-lines":
        return keep_lines.darkness(
            lightness, detail_px=detail_px, smoothing_px=smoothing_px, lines=lines, fine=photo.fine
        )
    if method == "single-level":
        return thresholds.darkness(lightness, smoothing_px=smoothing_px)
    if method == "uneven-light":
        window_px = WINDOW_OF_DETAIL * detail_px
        return thresholds.darkness_by_surroundings(lightness, window_px=window_px, smoothing_px=smoothing_px)
    return two_peaks.darkness(lightness, smoothing_px=smoothing_px)


def _at_own_level(dark_field: Field, method: str) -> Field:
    """Return the field cut where the method itself cuts it: at Otsu's level, or where its darkness is 0."""
    level = otsu_level(dark_field) if method == "single-level" else 0.0
    return dark_field - np.float32(level)


def _at_share(dark_field: Field, method: str, dark: float, detail_px: float, *, or_nearest: bool) -> Field:
    """Return the field cut so that its share of dark is within SHARE_ERROR of ``dark``, else SettingError.

    With ``or_nearest`` any share will do that comes nearest, but no dark at all.
    """
    field = _nearest_cut(dark_field, method, dark, detail_px)
    share = _share_of(field)
    if abs(dark - share) > SHARE_ERROR and (share < LEAST_SHARE or not or_nearest):
        raise _out_of_reach(dark, nearest=share)
    return field


def _nearest_cut(dark_field: Field, method: str, dark: float, detail_px: float) -> Field:
    """Return the field cut so that its share of dark comes as near to ``dark`` as was found.

    Dropping faint strokes takes some dark away, so the cut is made again for that much more; from between the two
    nearest cuts, once one has too much.
    """
    wanted, best, miss = dark, dark_field, 1.0
    less, more = None, None
    for _ in range(TRIES):
        field = _cut(dark_field, method, min(max(wanted, 0.0), 1.0), detail_px)
        short = dark - _share_of(field)
        if abs(short) < abs(miss):
            best, miss = field, short
        if abs(short) <= SHARE_ERROR / 4:
            break
        less, more = ((wanted, short), more) if short > 0 else (less, (wanted, short))
        wanted = _between(less, more) if less and more else wanted + short
    return best


def _between(less: tuple[float, float], more: tuple[float, float]) -> float:
    """Return where a share isn't short any more, of two places and how short it is there; evenly in between."""
    (low, short), (high, over) = less, more
    return low + (high - low) * min(max(short / (short - over), LEAST_STEP), 1 - LEAST_STEP)


def _share_of(field: Field) -> float:
    return float(np.count_nonzero(field > 0) / field.size)


def _out_of_reach(dark: float, *, nearest: float) -> SettingError:
    if nearest < LEAST_SHARE:
        advice = (
            "every dark part is too faint for the finest line at this size; make the plaque larger or tone.detail finer"
        )
        return SettingError("tone.dark", advice)
    problem = f"this picture can't be cut at a share of {dark:g}; the nearest share that works is {nearest:.3f}"
    return SettingError("tone.dark", problem)


def _cut(dark_field: Field, method: str, share: float, detail_px: float) -> Field:
    level = level_at_share(dark_field, share)
    if method == "two-tone":
        level = min(max(level, -two_peaks.LEVEL_LIMIT), two_peaks.LEVEL_LIMIT)
    field: Field = dark_field - np.float32(level)
    if method != "keep-lines":
        return field
    return keep_lines.without_faint(field, sigma_px=keep_lines.sigma_of(field.shape, detail_px=detail_px))


def _is_flat(lightness: Field) -> bool:
    smooth = blurred(lightness, 1.0)
    return float(smooth.max() - smooth.min()) < LEAST_CONTRAST


def _nothing_to_carve(photo: Photo) -> InputError:
    if not photo.ground:
        return InputError("the picture", "it is all one grey, so there is nothing to carve; crop it or choose another")
    other = "dark" if photo.ground == "light" else "light"
    problem = f"what shows in it is as {photo.ground} as the ground behind its transparent parts, so nothing stands out"
    return InputError(
        "the picture", f'{problem}; give --ground {other}, or ground = "{other}" under [picture], or choose another'
    )


def _check_method(method: str) -> None:
    if method not in METHODS:
        raise SettingError("tone.method", f"{method!r} is not one of {', '.join(METHODS)}")
