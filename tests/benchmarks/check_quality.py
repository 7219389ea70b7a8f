"""How good the check is: damages found on a real plaque, false alarms on pictures and random masks, seconds.

    python tests/benchmarks/check_quality.py [--masks 200] [--first 0] [--pictures] [--damages] [--speed]

Without a choice all four parts run. Pictures are scikit-image's; masks are seeded random fields. A false alarm is
printed with its seed and its findings, since it may as well be a true fault of what was written.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from check_pictures import PICTURES, made, mask_settings, picture, random_mask
from spoil import DAMAGES

from shadowrout.check.checking import check_folder
from shadowrout.check.verdict import Verdict
from shadowrout.errors import ShadowroutError


def told(verdict: Verdict) -> str:
    lines = [f"  {promise}: {finding.what} at {finding.place_mm}" for _, promise, finding in verdict.findings]
    return "\n".join(lines[:6])


def judge_masks(first: int, count: int, folder: Path) -> None:
    alarms = refused = 0
    for seed in range(first, first + count):
        settings, plaque = mask_settings(seed)
        out = folder / f"mask-{seed}"
        try:
            made(random_mask(seed), out, long_side_mm=100, settings=settings, plaque=plaque)
            verdict = check_folder(out)
        except ShadowroutError as error:
            refused += 1
            print(f"seed {seed}: not made: {error}", flush=True)
            continue
        finally:
            keep = out / "plaque"
        if verdict.holds:
            shutil.rmtree(out)
        else:
            alarms += 1
            print(f"seed {seed}: alarm, {keep}\n{told(verdict)}", flush=True)
    print(f"masks {first} to {first + count - 1}: {alarms} alarms, {refused} not made")


def judge_pictures(folder: Path) -> None:
    for name in PICTURES:
        out = folder / name
        made(picture(name), out, long_side_mm=100, settings='[output]\nfiles = ["carve"]')
        verdict = check_folder(out)
        print(f"{name}: {'no alarm' if verdict.holds else 'ALARM'}\n{told(verdict)}".rstrip(), flush=True)


def judge_damages(folder: Path) -> None:
    whole = folder / "whole"
    made(picture("astronaut"), whole, long_side_mm=100, settings='[output]\nfiles = ["carve"]')
    found = named = fitting = 0
    for damage in (d for d in DAMAGES if d.whole == "drawn"):
        out = folder / "spoiled"
        shutil.copytree(whole, out)
        try:
            damage.spoil(out / "plaque")
        except (StopIteration, AssertionError, ValueError, LookupError) as reason:
            print(f"{damage.name}: does not fit this plaque ({reason!r})")
            continue
        finally:
            spoiled = out.exists()
        fitting += 1
        verdict = check_folder(out)
        of_promise = [str(f.what) for _, promise, f in verdict.findings if promise == damage.promise]
        found += not verdict.holds
        ok = any(all(word in what for word in damage.words) for what in of_promise)
        named += ok
        if not ok:
            print(f"{damage.name}: not named; {told(verdict)}")
        if spoiled:
            shutil.rmtree(out)
    print(f"damages on astronaut at 100 mm: {found} of {fitting} found, {named} named as expected")


def judge_speed(folder: Path) -> None:
    for name in ("astronaut", "chelsea"):
        out = folder / f"{name}-200"
        made(picture(name), out, long_side_mm=200, settings='[output]\nfiles = ["carve"]')
        seconds, cpu = [], []
        for _ in range(3):
            start, start_cpu = time.perf_counter(), time.process_time()
            check_folder(out)
            seconds.append(time.perf_counter() - start)
            cpu.append(time.process_time() - start_cpu)
        print(f"{name} at 200 mm: {min(seconds):.2f} s, {min(cpu):.2f} s of processor time", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--masks", type=int)
    parser.add_argument("--first", type=int, default=0)
    for part in ("pictures", "damages", "speed"):
        parser.add_argument(f"--{part}", action="store_true")
    parser.add_argument("--smoke", action="store_true", help="two masks, to see that it runs")
    asked = parser.parse_args()
    if asked.smoke:
        asked.masks = 2
    everything = asked.masks is None and not (asked.pictures or asked.damages or asked.speed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if asked.pictures or everything:
            judge_pictures(folder)
        if asked.damages or everything:
            judge_damages(folder)
        if asked.speed or everything:
            judge_speed(folder)
        if asked.masks or everything:
            judge_masks(asked.first, asked.masks or 200, folder)


if __name__ == "__main__":
    main()
