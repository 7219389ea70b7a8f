"""Templates for a hand-held router with a guide bush: openings larger than the pockets by what the bush keeps away.

With bush diameter B and bit diameter d the opening's edge lies o = (B - d) / 2 outside the pocket's wall (common
practice; a bit guided by a bearing of its own size has o = 0). It is made as every place the bit's centre may go,
grown by B / 2, so that no inside corner is tighter than the bush and the bush can touch the edge all along.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shadowrout.errors import PromiseError, SettingError
from shadowrout.geometry.contacts import clearance
from shadowrout.geometry.region import Box, Region, union_all
from shadowrout.sheets.criterion import holds
from shadowrout.sheets.register import RegisterMark, holes_of
from shadowrout.sheets.router.guarding import ERROR_MM, HAIR_MM, SPECK_MM2, guarded
from shadowrout.sheets.router.keys import TIP_MM, Bush, keyed
from shadowrout.sheets.router.placing import clear_marks, least_overhang, marks_within
from shadowrout.sheets.router.template_bridges import Variant, ring_variants
from shadowrout.words.sentences import Mm, Sentence

if TYPE_CHECKING:
    from shadowrout.job.sheet_options import TemplateOptions

ISLANDS = ("second", "bridge", "refuse")
"""What to do with an island: bridges at other places on a second template, bridges alone, or an error."""

_MOST_SHEETS = 6
"""More templates than this on one board nobody would change without a mistake (no source)."""
_SMALLER_BUSHES = (0.75, 0.5, 0.25, 0.0)
"""Differences of bush and bit to try where the one asked for can't be, over that one."""


@dataclass(frozen=True)
class Stack:
    """What the bit must reach through, in mm."""

    thickness: float
    depth: float

    @property
    def bit_below_base(self) -> float:
        """How far the bit must stick out below the router's base: through the template and down to the depth."""
        return self.thickness + self.depth


@dataclass(frozen=True, eq=False)
class RouterTemplate:
    """One or more template sheets that together let the router clear the pockets; lengths in mm, y up.

    ``openings`` has a region for each sheet; all sheets have the box ``sheet`` around the middle of the ``plaque``,
    and each has ``holes`` at the register marks that are clear of its openings. ``cleared`` is what the bit takes out
    with all of them, ``unreached`` what it leaves of the pockets because it is too thick or the wood
    beside is too thin to keep the bush off it, ``under_keys`` what it leaves because keys keep it off narrow light,
    ``under_bridges`` what it leaves because a bridge or a web covers it on every sheet, ``rounded_off`` what it takes
    beside the pockets, within what may be cut: corners come out round to the radius of the offset.
    """

    openings: tuple[Region, ...]
    sheet: Box
    plaque: Box
    holes: tuple[tuple[RegisterMark, ...], ...]
    bush_mm: float
    bit_mm: float
    web_mm: float
    stack: Stack
    cleared: Region
    unreached: Region
    under_keys: Region
    under_bridges: Region
    rounded_off: Region

    @property
    def offset_mm(self) -> float:
        """How far the openings' edges lie outside the pockets' walls."""
        return (self.bush_mm - self.bit_mm) / 2

    @property
    def kept_from_bit(self) -> Region:
        """What the template itself keeps the bit from: keys, bridges and webs."""
        return self.under_keys.union(self.under_bridges)

    @property
    def overhang_mm(self) -> tuple[float, float]:
        """How far the sheet's edges stand over the board's box left and right, and below and above."""
        return self.plaque[0] - self.sheet[0], self.plaque[1] - self.sheet[1]


def bit_centres(pockets: Region, *, bit_mm: float) -> Region:
    """Return where the middle of the bit may go; empty where no pocket takes it."""
    return pockets.offset(-bit_mm / 2, error=ERROR_MM)


def make_router_template(
    pockets: Sequence[Region],
    *,
    depth_mm: float,
    plaque: Box,
    options: TemplateOptions,
    tolerance_mm: float,
    may_cut: Region,
    islands: str = "second",
    marks: Sequence[RegisterMark] = (),
) -> RouterTemplate:
    """Return the templates for pockets of one depth; ``pockets`` are their walls in mm.

    Nothing outside ``may_cut`` is taken by a bush that goes all round in openings whose lines lie within
    ``drawn_within_mm(tolerance_mm)`` of those returned: keys of the template keep the bit off the light.
    An opening whose web to its neighbour would be too thin goes onto another sheet, as does the second half of a
    pocket round an island. Webs are as wide as asked even when the lines drawn leave the openings by
    ``tolerance_mm``. Pockets stay away from wood too thin to keep the bush off; what that leaves is reported. The
    board's register ``marks`` become holes of every sheet on which they are a web clear of its openings and edge.

    Raises SettingError for a bit larger than the bush, a bush that reaches through the template, or an unknown
    word for ``islands``, a bit that no pocket takes whatever the bush; PromiseError, with the place, for an island
    that can't be held, openings that take too many sheets, or no pocket that takes the bit in its bush.
    """
    check_template(options, islands)
    asked = union_all(pockets).simplified(ERROR_MM)
    wanted = _Wanted(asked, may_cut, depth_mm, plaque, tolerance_mm, islands, tuple(marks))
    try:
        return _made(wanted, options)
    except _RefusedError:
        raise
    except PromiseError as problem:
        works = _smaller_bush(wanted, options)
        if works is None and bit_centres(wanted.asked, bit_mm=options.bit).is_empty:
            raise _no_pocket_takes(wanted.asked, options) from None
        if works is None:
            raise
        raise PromiseError(Sentence("{problem}; {works}", problem=problem.sentence, works=works)) from None


class _RefusedError(PromiseError):
    """What the settings ask to refuse: no other bush or bit is looked for."""


@dataclass(frozen=True, eq=False)
class _Wanted:
    """What a template is made of, whatever bush and bit."""

    asked: Region
    may_cut: Region
    depth_mm: float
    plaque: Box
    tolerance_mm: float
    islands: str
    marks: tuple[RegisterMark, ...]


def _smaller_bush(wanted: _Wanted, options: TemplateOptions) -> Sentence | None:
    """Return the largest of a few smaller bushes with which a template can be made; None where none can."""
    for share in _SMALLER_BUSHES:
        bush = round(options.bit + share * (options.bush - options.bit), 2)
        try:
            _made(wanted, replace(options, bush=bush))
        except (PromiseError, SettingError):
            continue
        bearing = " (a bearing of the bit's own size)" if share == 0 else ""
        return Sentence("with this bit a bush of {bush} works{bearing}", bush=Mm(bush), bearing=bearing)
    return None


def _no_pocket_takes(asked: Region, options: TemplateOptions) -> SettingError:
    """Return the error for a bit that goes into no pocket, whatever the bush."""
    if asked.is_empty:
        told = Sentence("{bit} finds no pocket, since there is none at all; give a smaller cutter", bit=Mm(options.bit))
        return SettingError("template.bit", told)
    _, radius = asked.widest_spot(precision=0.1)
    return SettingError(
        "template.bit",
        Sentence(
            "{bit} goes into no pocket, whatever the bush; the widest is {widest:.1f} across: give a thinner bit than "
            "that, or a larger plaque",
            bit=Mm(options.bit),
            widest=Mm(2 * radius),
        ),
    )


def _made(wanted: _Wanted, options: TemplateOptions) -> RouterTemplate:
    """Return the templates; raises SettingError for a sheet too small and PromiseError for what can't be held."""
    web, asked, marks = options.web + 2 * wanted.tolerance_mm, wanted.asked, wanted.marks
    guarded_centres = _guarded_centres(wanted, options, web)
    centres = _keyed_centres(guarded_centres, wanted, options)
    sheets = _sheets([v for part in centres.parts() for v in _variants(part, options, web, wanted.islands)], web)
    openings = tuple(union_all(v.opening for v in sheet) for sheet in sheets)
    holes = [clear_marks(marks, opening, web_mm=web) for opening in openings]
    sheet = _sheet_box(openings, [mark for some in holes for mark in some], wanted.plaque, options, web)
    holes = [marks_within(some, sheet, web_mm=web) for some in holes]
    _check_sheets([o.union(holes_of(some)) for o, some in zip(openings, holes, strict=True)], sheet, web)
    cleared = union_all(_cleared(opening, options) for opening in openings)
    reachable = guarded_centres.offset(options.bit / 2, error=ERROR_MM)
    beside_keys = centres.offset(options.bit / 2, error=ERROR_MM)
    return RouterTemplate(
        openings=openings,
        sheet=sheet,
        plaque=wanted.plaque,
        holes=tuple(holes),
        bush_mm=options.bush,
        bit_mm=options.bit,
        web_mm=options.web,
        stack=Stack(options.thickness, wanted.depth_mm),
        cleared=cleared,
        unreached=asked.difference(reachable),
        under_keys=_without_hairs(reachable.difference(beside_keys)),
        under_bridges=_without_hairs(beside_keys.difference(cleared)),
        rounded_off=_without_hairs(cleared.difference(asked)),
    )


def _guarded_centres(wanted: _Wanted, options: TemplateOptions, web: float) -> Region:
    """Return where the bit's middle may go, each pocket kept away from wood that is too thin.

    Where a pocket's wall is nearer to the edge of what may be cut than an opening may come out larger, it is moved.
    """
    offset = (options.bush - options.bit) / 2
    inner = wanted.may_cut.offset(-_enlarged_mm(wanted) - 2 * ERROR_MM, error=ERROR_MM)
    asked = wanted.asked.intersection(inner)
    walls = [
        guarded(part.offset(options.bit / 2, error=ERROR_MM), offset_mm=offset, web_mm=web)
        for part in bit_centres(asked, bit_mm=options.bit).parts()
    ]
    centres = bit_centres(union_all(walls), bit_mm=options.bit)
    if centres.is_empty:
        told = Sentence(
            "template: no pocket takes a bit of {bit} in a bush of {bush}", bit=Mm(options.bit), bush=Mm(options.bush)
        )
        raise PromiseError(told)
    return centres


def _keyed_centres(centres: Region, wanted: _Wanted, options: TemplateOptions) -> Region:
    """Return where the bit's middle may go when keys keep the bit off the light."""
    bush = Bush(options.bush / 2, options.bit / 2, _enlarged_mm(wanted))
    left = keyed(centres, wanted.may_cut, bush)
    if left.is_empty:
        told = Sentence(
            "template: a bit of {bit} in a bush of {bush} has no way to go beside the keys that keep it off the light",
            bit=Mm(options.bit),
            bush=Mm(options.bush),
        )
        raise PromiseError(told)
    return left


def _enlarged_mm(wanted: _Wanted) -> float:
    """Return by how much an opening may come out larger: by its lines, its own errors and a bush's play."""
    return drawn_within_mm(wanted.tolerance_mm) + 2 * ERROR_MM


def drawn_within_mm(tolerance_mm: float) -> float:
    """Return how far lines drawn of an opening may lie from it: a quarter of the tolerance, a third of a key's tip.

    The bush follows them, and may gouge no more than the tolerance in all. Twice as far takes a tenth fewer pieces and
    costs up to twice as much of the pockets, on photos; of the tip two thirds stay at the worst.
    """
    return min(tolerance_mm / 4, TIP_MM / 3)


def check_template(options: TemplateOptions, islands: str) -> None:
    """Raise SettingError for the first setting that no template can have."""
    if options.bit > options.bush:
        raise SettingError(
            "template.bit",
            Sentence(
                "{bit} is larger than the bush; give {most} or less, or a larger template.bush",
                bit=Mm(options.bit),
                most=Mm(options.bush, bound="most"),
            ),
        )
    if options.bush > options.bit and options.bush_length >= options.thickness:
        raise SettingError(
            "template.bush_length",
            Sentence(
                "{length} would touch the wood; give less than the template's thickness, {thickness}",
                length=Mm(options.bush_length),
                thickness=Mm(options.thickness),
            ),
        )
    if options.margin < options.web:
        least = Mm(options.web, bound="least")
        told = Sentence("{margin} is less than the web; give {least} or more", margin=Mm(options.margin), least=least)
        raise SettingError("template.margin", told)
    if islands not in ISLANDS:
        raise SettingError("template.islands", f"{islands!r} can't be used; give one of {', '.join(ISLANDS)}")


def _variants(centres: Region, options: TemplateOptions, web: float, islands: str) -> Iterator[Variant]:
    """Yield the opening or openings that clear one part of the pockets, each for a sheet of its own."""
    opening = centres.offset(options.bush / 2, error=ERROR_MM)
    if all(not holes for _, holes in opening.polygons()):
        yield Variant(opening, centres)
        return
    if islands == "refuse":
        place, _ = opening.widest_spot(precision=0.1)
        told = Sentence(
            "template: an island in the pocket at {place:.1f} would fall out of the template; to hold it, give "
            "template.islands = bridge, or second for a second template",
            place=Mm.place(*place),
        )
        raise _RefusedError(told)
    yield from ring_variants(
        opening, centres, bush_mm=options.bush, web_mm=web, bit_mm=options.bit, both=islands == "second"
    )


def _sheets(variants: Sequence[Variant], web: float) -> list[list[Variant]]:
    """Return the openings dealt out to sheets so that on each they stay a web apart; few sheets, first come first."""
    sheets: list[list[Variant]] = []
    for variant in variants:
        for sheet in sheets:
            if all(clearance(variant.opening, other.opening) >= web for other in sheet):
                sheet.append(variant)
                break
        else:
            sheets.append([variant])
    if len(sheets) > _MOST_SHEETS:
        told = Sentence(
            "template: webs of {web} between the openings take {count} templates, more than {most}; allow narrower "
            "webs",
            web=Mm(web),
            count=len(sheets),
            most=_MOST_SHEETS,
        )
        raise PromiseError(told)
    return sheets


def _cleared(opening: Region, options: TemplateOptions) -> Region:
    """Return what the bit takes out when the bush goes everywhere it can in an opening."""
    return opening.offset(-options.bush / 2, error=ERROR_MM).offset(options.bit / 2, error=ERROR_MM)


def _sheet_box(
    openings: Sequence[Region], marks: Sequence[RegisterMark], plaque: Box, options: TemplateOptions, web: float
) -> Box:
    """Return the sheet: as large as plaque, openings and holes need, or as set, around the middle of the plaque."""
    every = union_all(openings)
    if options.sheet is None:
        over = least_overhang(every, marks, plaque, margin_mm=options.margin, web_mm=web)
        return plaque[0] - over, plaque[1] - over, plaque[2] + over, plaque[3] + over
    x0, y0, x1, y1 = every.bounds
    needed = (x0 - options.margin, y0 - options.margin, x1 + options.margin, y1 + options.margin)
    x, y = (plaque[0] + plaque[2]) / 2, (plaque[1] + plaque[3]) / 2
    least = 2 * max(x - needed[0], needed[2] - x), 2 * max(y - needed[1], needed[3] - y)
    width, height = options.sheet
    if width < least[0] or height < least[1]:
        raise SettingError(
            "template.sheet",
            Sentence(
                "{sheet} is too small for the openings and their margin; give at least {least}",
                sheet=Mm.size(width, height),
                least=Mm.size(*map(math.ceil, least), bound="least"),
            ),
        )
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def _check_sheets(openings: Sequence[Region], sheet: Box, web: float) -> None:
    for number, opening in enumerate(openings, start=1):
        verdict = holds(opening, sheet=sheet, web=web)
        if not verdict:
            fault = verdict.faults[0]
            told = Sentence(
                "template {number} doesn't stay in one piece: {reason} at {place:.1f}; allow narrower webs",
                number=number,
                reason=fault.reason,
                place=Mm.place(*fault.place),
            )
            raise PromiseError(told)


def _without_hairs(region: Region) -> Region:
    opened = region.offset(-HAIR_MM, error=ERROR_MM).offset(HAIR_MM, error=ERROR_MM)
    return opened.keeping(SPECK_MM2)
