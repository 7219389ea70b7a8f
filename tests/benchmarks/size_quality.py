"""What a small plaque keeps of its strokes when it gets a design of its own. Prints a table.

Run by hand: ``python tests/benchmarks/size_quality.py [--smoke]``; ``--smoke`` takes one picture.

A stroke is a branch of the shadow's medial axis, spurs left out. Sanding by s takes 2 s tan(A/2) off the width of a V
groove cut to the shadow's edge, so strokes narrower than that go. Columns: metres of stroke at 100 mm; lost: share of
the stroke length that 0.5 mm of sanding takes, % (the 200 mm design at half its size; the design made for 100 mm before
and after its thin lines are widened or dropped; the V lines as planned, which are cut deeper by the planned loss);
widened and dropped in mm of stroke; seconds of processor time for the line widths at 200 mm.
Goals: a design made for 100 mm loses 8 % at most, a halved one more than 25 %.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np
from plan_quality import NAMES, TOLERANCE_MM, design

from shadowrout.carving.plan import plan_carving
from shadowrout.design.plaque_design import LEAST_LIGHT_LINES
from shadowrout.design.widths.right_width import right_for_size
from shadowrout.design.widths.stretch import WidthReport
from shadowrout.geometry.medial import Boundary, medial_axis
from shadowrout.geometry.region import Region
from shadowrout.geometry.strokes import pruned
from shadowrout.job.options import Job

SANDING_MM = 0.5
STEP_MM = 0.15
HEADS = "   picture  metres  halved    made   right  planned  widened  dropped      s"


def strokes_mm(shadow: Region) -> tuple[np.ndarray, np.ndarray]:
    """Return the length and the mean width of every piece of the shadow's strokes."""
    axis = medial_axis(shadow, Boundary.of(shadow, step_mm=STEP_MM), step_mm=STEP_MM)
    edges = pruned(axis)
    lengths = np.hypot(*(axis.points[edges[:, 1]] - axis.points[edges[:, 0]]).T)
    return lengths, 2 * axis.radii[edges].mean(axis=1)


def lost(shadow: Region, angle_deg: float) -> float:
    """Return the share of the stroke length that the sanding takes where grooves are cut to the shadow's edge."""
    lengths, widths = strokes_mm(shadow)
    taken = 2 * SANDING_MM * math.tan(math.radians(angle_deg / 2))
    return float(lengths[widths < taken].sum() / lengths.sum())


def lost_as_planned(job: Job, shadow: Region) -> float:
    """Return the share of the V lines' length that the same sanding takes."""
    plan = plan_carving(
        shadow,
        thickness_mm=job.plaques[0].thickness,
        finish=job.finish,
        cutters=job.cutters,
        v_tool=job.v_tool,
        tolerance_mm=TOLERANCE_MM,
    )
    at = int(np.argmin(np.abs(plan.sanding.losses_mm - SANDING_MM)))
    assert abs(plan.sanding.losses_mm[at] - SANDING_MM) < 1e-9, "the planned loss is the one that is asked about"
    return max(0.0, 1 - float(plan.sanding.share_left[at]))


def right(job: Job, shadow: Region) -> tuple[Region, WidthReport]:
    finest = job.tone.detail or 0.0
    return right_for_size(shadow, finest_mm=finest, least_light_mm=LEAST_LIGHT_LINES * finest)


def row(name: str) -> str:
    large_job, large = design(name, 200)
    begun = time.process_time()
    large_right, _ = right(large_job, large)
    seconds = time.process_time() - begun
    job, made = design(name, 100)
    small, report = right(job, made)
    angle = job.v_tool.angle
    halved = large_right.mapped((0.5, 0.5), (0.0, 0.0))
    shares = [lost(halved, angle), lost(made, angle), lost(small, angle), lost_as_planned(job, small)]
    widened, dropped = (sum(s.length_mm for s in group) for group in (report.widened, report.dropped))
    return (
        f"{name:>10} {strokes_mm(small)[0].sum() / 1000:7.2f} "
        + " ".join(f"{100 * share:7.2f}" for share in shares[:3])
        + f" {100 * shares[3]:8.2f} {widened:8.0f} {dropped:8.0f} {seconds:6.2f}"
    )


def main(smoke: bool) -> None:
    print(HEADS)
    for name in NAMES[:1] if smoke else NAMES:
        print(row(name), flush=True)


if __name__ == "__main__":
    main("--smoke" in sys.argv[1:])
