"""The subject of a picture, told apart from its background so that the background need not be carved."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.errors import InputError, SettingError
from shadowrout.job.options import Picture
from shadowrout.picture.lightness import lightness_of
from shadowrout.picture.photo import Photo, resampled, resized
from shadowrout.picture.upright import Crop

Field = NDArray[np.float32]
"""Array (height, width), rows downwards."""

_SOURCE = "picture.subject"

_NOTHING_FOUND = (
    "no subject stands out from its surroundings; draw the shape round all of it with some background inside, or use "
    "the plain shape without cutting out"
)

_WORKING_SIDE_PX = 500
"""Longest side of the picture in which the subject is looked for; its smooth outline is enlarged."""

_ROUNDS = 5
"""Turns of GrabCut, each of which learns the colours of both sides anew from the last one's cut."""

_LEAST_SAMPLE_PX = 50  # GrabCut sorts the colours of either side into five clusters

# The middle alone is 0.10 of a rectangle and 0.12 of an ellipse; on noise and even pictures 0.13 was found at most, on
# subjects 0.34 and more. What fills the whole shape was not told from anything either.
_LEAST_SHARE, _GREATEST_SHARE = 0.16, 0.98

_LEAST_SPREAD = 2.0  # standard deviation of a colour channel, of 255; on even pictures GrabCut takes seconds

# Whoever draws a shape round a subject centres it: the middle of the shape, so much smaller, belongs to the subject.
_CORE_SCALE = 0.35

# Bays narrower than twice the first are filled, and then spurs narrower than twice the second cut off, as shares of
# the long side; the outline is smoothed by a Gaussian of the third.
_BAY_SHARE, _SPUR_SHARE, _SMOOTHING_SHARE = 0.016, 0.006, 0.006

_EDGE_SIGMA_PX = 0.8
"""Softness of the plain shape's edge: it goes from 0.02 to 0.98 over about 3 pixels."""

# Shares of the long side. Inside its outline a light subject gives way to its own lightness over the first, since the
# found outline lets some background in; the lightness is a mean over a Gaussian of the second, and outside
# it turns into paper over the third, too slowly to make a line.
_GIVING_WAY_SHARE, _OWN_LIGHTNESS_SHARE, _TURNING_SHARE = 0.006, 0.012, 0.06

_WIDE_SIGMA_PX = 6.0
"""A wider Gaussian is taken on a smaller picture, where it is this wide: still smooth, and as cheap as this one."""

_SEAM_BLUR = 3.0
"""Gaussian of the outside's lightness away from the edge, over that along it."""

_LIGHT_FROM = 0.75
"""Where a subject's edge counts as light, on the way from the level between the picture's two tones to its paper."""

_FADED_BLUR_SHARE = 0.008
"""Sigma of a faded background over the picture's longest side: fine texture goes, broad shadows stay."""

_FADED_POWER = 3.0
"""Exponent of a faded background's darkness, the picture's darkest being 1: half as dark becomes an eighth."""


@dataclass(frozen=True)
class Subject:
    """A shape drawn round the subject. ``box``: its bounds, in shares of the upright, cropped picture.

    It may reach past the picture, as when the subject is cut by its border; left < right and top < bottom.
    """

    shape: Literal["rectangle", "ellipse"]
    box: Crop


@dataclass(frozen=True, eq=False)
class Treated:
    """A picture with its background as asked for.

    ``dropped``: shape (height, width), 0 where shadow may be, rising to 1 from the subject's edge outwards, since the
    edge itself is the lightness's; None where shadow may be anywhere.
    """

    photo: Photo
    dropped: Field | None

    @property
    def left(self) -> float:
        """The share of the picture that may become shadow."""
        return 1.0 if self.dropped is None else float(np.mean(self.dropped == 0))


def subject_mask(photo: Photo, subject: Subject, *, cut_out: bool = True) -> NDArray[np.float32]:
    """Return where the subject is: 1 inside, 0 outside, with an edge a few pixels soft.

    Shape (h, w), float32, as the photo's lightness. With ``cut_out`` the subject's own outline inside the shape is
    found by GrabCut (Rother, Kolmogorov and Blake 2004), as one piece without holes; nothing outside the shape is
    taken. Without it the shape itself is the outline. The same input gives the same mask. Raises InputError when
    no subject can be told from its surroundings, or the shape covers less than a pixel.
    """
    height_px, width_px = photo.lightness.shape
    if not cut_out:
        return _softened(_within_picture(_drawn(subject, width_px, height_px)))
    share = min(1.0, _WORKING_SIDE_PX / max(width_px, height_px))
    small = resampled(photo, width_px=max(1, round(width_px * share)), height_px=max(1, round(height_px * share)))
    rows, columns = small.lightness.shape
    shape = _drawn(subject, columns, rows) > 0
    core = _drawn(_core_of(subject), columns, rows) > 0
    found = _one_piece(_grab_cut(small.colour, shape, core))
    _check_share(found, shape)
    return _enlarged(_smoothed(_one_piece(_cleaned(found))), width_px, height_px)


def background_as_asked(photo: Photo, asked: Picture) -> Treated:
    """Return the picture with its background as the settings say; without a subject it is unchanged.

    Raises the errors of ``subject_mask``, and SettingError where a setting of the subject is given without one.
    """
    if asked.subject is None:
        _check_nothing_asked(asked)
        return Treated(photo, None)
    subject = Subject(asked.subject_shape, asked.subject)
    inside = subject_mask(photo, subject, cut_out=asked.subject_edge == "found")
    treated = with_background(photo, inside, treatment=asked.background)
    return Treated(treated, np.clip(1 - 2 * inside, 0, 1) if asked.background == "drop" else None)


def _check_nothing_asked(asked: Picture) -> None:
    usual = Picture(asked.file)
    for name in ("subject_shape", "subject_edge", "background"):
        if getattr(asked, name) != getattr(usual, name):
            raise SettingError(f"picture.{name}", f"needs a subject; give {_SOURCE} too, as in [0.1, 0, 0.9, 1]")


def with_background(photo: Photo, inside: Field, *, treatment: Literal["drop", "fade"] = "drop") -> Photo:
    """Return the picture with what lies outside the subject made light ("drop") or lightened ("fade").

    ``inside`` is where the subject is, as ``subject_mask`` returns it. Light is the mean of the lighter part, split
    by Otsu's method, of the picture or of the subject, whichever is lighter: so the level between light and shadow,
    and with it the subject's look, hardly move. Along a light edge the outside starts at the subject's own
    lightness and turns into paper slowly, and a narrow band inside gives way to it, so that the cut draws no line;
    along a dark edge it is paper at once. "fade" lays the background over that, blurred, with the third power of
    its darkness between the picture's darkest and lightest hundredth. Raises InputError where nothing is inside.
    """
    if not np.any(inside > 0.5):
        raise InputError(_SOURCE, "the shape is too small to hold anything that could be carved")
    level, paper = max(map(_two_tones, (photo.lightness, photo.lightness[inside > 0.5])), key=itemgetter(1))
    away = _distance_to(inside > 0.5) / max(inside.shape)
    within = _narrowed(inside)
    own = _own_lightness(photo.lightness, within, away)
    is_light = _smooth_step((own - level) / (_LIGHT_FROM * (paper - level)))
    turned = _smooth_step(away / _TURNING_SHARE)
    outside = paper + (own - paper) * is_light * (1 - turned)
    if treatment == "fade":
        outside = np.clip(outside - _faded_darkness(photo.lightness, inside), 0, 100)
    return _blended(photo, outside, keep=inside + (within - inside) * is_light)


def _blended(photo: Photo, outside: Field, *, keep: Field) -> Photo:
    """Return the picture where ``keep`` is 1 and greys of the lightness ``outside`` where it is 0."""
    lightness = outside + (photo.lightness - outside) * keep
    grey = _grey_of(outside)
    channels = [np.rint(grey + (photo.colour[:, :, i] - grey) * keep).astype(np.uint8) for i in range(3)]
    return replace(photo, lightness=lightness, colour=np.dstack(channels))


def _two_tones(lightness: Field) -> tuple[float, float]:
    """Return the level that splits the values best in two, and the mean of what is lighter."""
    steps = np.rint(lightness).astype(np.uint8)
    level, _ = cv2.threshold(steps, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    lighter = lightness[steps > level]
    return level, float(lighter.mean()) if lighter.size else level + 1.0


def _narrowed(inside: Field) -> Field:
    """Return the subject without a band along its edge, and never without its middle."""
    depth = _distance_to(inside <= 0.5)
    band_px = min(_GIVING_WAY_SHARE * max(inside.shape), float(depth.max()) / 2)
    return _softened((depth > band_px).astype(np.float32))


def _own_lightness(lightness: Field, within: Field, away: Field) -> Field:
    """Return the subject's mean lightness near each pixel; outside that of its nearest edge.

    ``away`` is the distance from the subject over the long side. Where the nearest edge changes there are seams, which
    are blurred the more the farther away they are.
    """
    sigma_px = max(0.5, _OWN_LIGHTNESS_SHARE * max(within.shape))
    there = within >= min(0.5, float(within.max()))
    own = _mean_near(lightness, there.astype(np.float32), sigma_px)
    _, nearest = cv2.distanceTransformWithLabels(
        (~there).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    table = np.zeros(int(nearest.max()) + 1, dtype=np.float32)
    table[nearest[there]] = own[there]
    near = _blurred_values(np.where(there, own, table[nearest]), sigma_px)
    far = _blurred_values(near, _SEAM_BLUR * sigma_px)
    return near + (far - near) * _smooth_step(away / np.float32(_SEAM_BLUR * _OWN_LIGHTNESS_SHARE))


def _faded_darkness(lightness: Field, inside: Field) -> Field:
    """Return how much darker than paper the faded background is, in CIE L*."""
    darkest, lightest = np.percentile(lightness, (1, 99))
    ground = _mean_near(lightness, 1 - inside, max(0.5, _FADED_BLUR_SHARE * max(inside.shape)))
    share = np.clip((lightest - ground) / max(lightest - darkest, 1.0), 0, 1)
    return np.asarray(share**_FADED_POWER * (lightest - darkest), dtype=np.float32)


def _mean_near(values: Field, weights: Field, sigma_px: float) -> Field:
    """Return the Gaussian mean of the values that have weight; where none is near, the values themselves."""
    least = np.float32(1e-5)
    total = np.maximum(_blurred_values(weights, sigma_px), np.float32(0))  # interpolation undershoots
    mean = (_blurred_values(values * weights, sigma_px) + least * values) / (total + least)
    return np.clip(mean, values.min(), values.max())


def _distance_to(there: NDArray[np.bool_]) -> Field:
    """Return each pixel's distance to where it is true, in pixels; as good as infinite where that is nowhere."""
    if not there.any():
        return np.full(there.shape, np.float32(1e9))
    distance = cv2.distanceTransform((~there).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(distance, dtype=np.float32)


def _smooth_step(values: Field) -> Field:
    """Return a cubic that rises from 0 at 0 to 1 at 1, level at both."""
    t = np.clip(values, 0, 1)
    return np.asarray(t * t * (3 - 2 * t), dtype=np.float32)


def _grey_of(lightness: Field) -> Field:
    """Return the sRGB grey, 0 to 255, that has this CIE L*."""
    greys = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 3, axis=2)
    return np.interp(lightness, lightness_of(greys)[0], np.arange(256)).astype(np.float32)


def _drawn(subject: Subject, width_px: int, height_px: int) -> NDArray[np.float32]:
    """Return the shape, 1 where a pixel's centre lies inside it."""
    left, top, right, bottom = subject.box
    x = (np.arange(width_px, dtype=np.float32) + 0.5) / width_px
    y = (np.arange(height_px, dtype=np.float32)[:, None] + 0.5) / height_px
    if subject.shape == "rectangle":
        inside = (x >= left) & (x < right) & (y >= top) & (y < bottom)
    else:
        across, down = (2 * x - left - right) / (right - left), (2 * y - top - bottom) / (bottom - top)
        inside = across**2 + down**2 < 1
    return inside.astype(np.float32)


def _within_picture(drawn: NDArray[np.float32]) -> NDArray[np.float32]:
    if not drawn.any():
        raise InputError(_SOURCE, "the shape holds nothing of the picture; give it in shares of the picture, 0 to 1")
    return drawn


def _grab_cut(rgb: NDArray[np.uint8], shape: NDArray[np.bool_], core: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return what GrabCut counts to the foreground: all of ``core``, nothing outside ``shape``."""
    if min(np.count_nonzero(~shape), np.count_nonzero(shape)) < _LEAST_SAMPLE_PX:
        raise InputError(_SOURCE, "must leave some of the background outside and hold some of the picture")
    if rgb.std(axis=(0, 1)).max() < _LEAST_SPREAD:
        raise InputError(_SOURCE, _NOTHING_FOUND)
    labels = np.where(shape, cv2.GC_PR_FGD, cv2.GC_BGD).astype(np.uint8)
    labels[core] = cv2.GC_FGD
    background, foreground = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.setRNGSeed(1)  # its colour clusters start from random centres
    cv2.grabCut(rgb[:, :, ::-1].copy(), labels, (0, 0, 1, 1), background, foreground, _ROUNDS, cv2.GC_INIT_WITH_MASK)
    found: NDArray[np.bool_] = (labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)
    return found


def _one_piece(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the largest piece, counted over edges only, with its holes filled."""
    count, labels, figures, _ = cv2.connectedComponentsWithStats(inside.astype(np.uint8), connectivity=4)
    if count < 2:
        return inside
    piece = labels == 1 + int(np.argmax(figures[1:, cv2.CC_STAT_AREA]))
    outlines, _ = cv2.findContours(piece.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = np.zeros(inside.shape, dtype=np.uint8)
    cv2.drawContours(filled, outlines, -1, 1, cv2.FILLED)
    return filled > 0


def _core_of(subject: Subject) -> Subject:
    """Return an ellipse in the middle of the shape."""
    left, top, right, bottom = subject.box
    across, down = (right - left) * (1 - _CORE_SCALE) / 2, (bottom - top) * (1 - _CORE_SCALE) / 2
    return Subject("ellipse", (left + across, top + down, right - across, bottom - down))


def _check_share(inside: NDArray[np.bool_], shape: NDArray[np.bool_]) -> None:
    share = float(inside.sum() / shape.sum())
    if not _LEAST_SHARE <= share <= _GREATEST_SHARE:
        raise InputError(_SOURCE, _NOTHING_FOUND)


def _cleaned(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the piece with narrow bays filled and narrow spurs cut off; the picture's border is no edge."""
    long_side_px = max(inside.shape)
    bay, spur = (max(1, round(share * long_side_px)) for share in (_BAY_SHARE, _SPUR_SHARE))
    framed = cv2.copyMakeBorder(inside.astype(np.uint8), bay, bay, bay, bay, cv2.BORDER_REPLICATE)
    closed = cv2.morphologyEx(framed, cv2.MORPH_CLOSE, _disc(bay))
    opened = cv2.morphologyEx(closed, cv2.MORPH_OPEN, _disc(spur))
    return opened[bay:-bay, bay:-bay] > 0


def _disc(radius_px: int) -> NDArray[np.uint8]:
    side = 2 * radius_px + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), dtype=np.uint8)


def _smoothed(inside: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return the piece blurred: its outline, free of pixel steps, is the level 0.5."""
    sigma = max(0.5, _SMOOTHING_SHARE * max(inside.shape))
    return _blurred(inside.astype(np.float32), sigma)


def _enlarged(soft: NDArray[np.float32], width_px: int, height_px: int) -> NDArray[np.float32]:
    """Return the mask at the photo's size, its edge as sharp there as a plain shape's."""
    large = resized(soft, width_px=width_px, height_px=height_px)
    return _softened((large > 0.5).astype(np.float32))


def _softened(inside: NDArray[np.float32]) -> NDArray[np.float32]:
    return _blurred(inside, _EDGE_SIGMA_PX)


def _blurred(values: NDArray[np.float32], sigma_px: float) -> NDArray[np.float32]:
    return np.clip(_blurred_values(values, sigma_px), 0, 1)


def _blurred_values(values: Field, sigma_px: float) -> Field:
    """Return the Gaussian mean; a wide one is taken on fewer pixels, where it costs less and looks the same."""
    height_px, width_px = values.shape
    share = min(1.0, _WIDE_SIGMA_PX / sigma_px)
    small = resized(values, width_px=math.ceil(width_px * share), height_px=math.ceil(height_px * share))
    blurred = cv2.GaussianBlur(small, (0, 0), sigma_px * share, borderType=cv2.BORDER_REPLICATE)
    return resized(np.asarray(blurred, dtype=np.float32), width_px=width_px, height_px=height_px)
