"""The order of work at the bench, told for what the job has in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shadowrout.jobsheet.wording import Words, number
from shadowrout.options import Job
from shadowrout.plan.depths import half_angle_tan


@dataclass(frozen=True)
class Step:
    """One step of the work: what to do in a word or two, then how."""

    name: str
    how: str


def steps_of(job: Job, plaques: Sequence[Mapping[str, Any]], words: Words) -> tuple[Step, ...]:
    """Return the steps in their order, without those that none of the plaques needs."""
    return (
        Step(
            "Try",
            "On scrap of the same wood cut one pocket and a few V lines of each width, paint and sand them. Change the "
            "settings until the scrap looks right.",
        ),
        *_roughing(plaques),
        Step("Glue the pattern", _pattern(plaques)),
        *_carving(job, plaques, words),
        Step(
            "Paint",
            f"Take the paper and its glue off. Paint the whole face, {number(job.finish.coats)} coats, down into "
            "every cut. Let each dry as its tin says.",
        ),
        Step(
            "Sand",
            "Measure the board's thickness before the first stroke, then sand evenly: "
            f"{words.depth(job.finish.sanding_loss)} in all is planned. Measure often, at the same marked places.",
        ),
        Step("Stop", _stop(plaques)),
        *_recutting(plaques),
    )


def _roughing(plaques: Sequence[Mapping[str, Any]]) -> Iterator[Step]:
    if any(plaque["pockets"] for plaque in plaques):
        yield Step(
            "Rough",
            "Cut the pockets with the larger cutter first. Of each pocket the drawing has the wall and the line of "
            "the cutter's centre: use one of the two, and let no other program move the centre line again.",
        )


def _pattern(plaques: Sequence[Mapping[str, Any]]) -> str:
    sheet = "pattern" if any("pattern.pdf" in plaque["files"] for plaque in plaques) else "drawing"
    by = "the board's edge"
    if any(plaque.get("register") for plaque in plaques):
        by = "the register marks"
    elif _has_pockets(plaques):
        by = "the pockets' walls"
    return f"Print the {sheet} at full size, measure the print, and glue it to the face, lined up by {by}."


def _has_pockets(plaques: Sequence[Mapping[str, Any]]) -> bool:
    return any(plaque["pockets"] for plaque in plaques)


def _carving(job: Job, plaques: Sequence[Mapping[str, Any]], words: Words) -> Iterator[Step]:
    if _has_pockets(plaques):
        yield Step("Pare", "With the gouge take the wood between the pockets' walls and the edge of the shadow.")
    if any(plaque["v_lines"]["count"] for plaque in plaques):
        wider = 2 * half_angle_tan(job.v_tool.angle) * job.finish.sanding_loss
        yield Step(
            "Carve",
            "Cut the V lines along their centre. A stroke's width tells its depth: cut until it is as wide as on the "
            f"pattern, and by {words.depth(wider)} wider, which the planned sanding takes again.",
        )


def _stop(plaques: Sequence[Mapping[str, Any]]) -> str:
    stop = "Stop when the light parts are clean wood."
    if any(plaque["v_lines"]["count"] for plaque in plaques):
        stop += " Each plaque's sheet says how much is too much; stop before that even if paint is left."
    return stop


def _recutting(plaques: Sequence[Mapping[str, Any]]) -> Iterator[Step]:
    if any(plaque["v_lines"]["count"] for plaque in plaques):
        yield Step(
            "Re-cut",
            "Where a line has grown thin or gone, cut it again from the sanded face and paint it with a fine brush. "
            "Each plaque's sheet lists the strokes that go first: look at those.",
        )
