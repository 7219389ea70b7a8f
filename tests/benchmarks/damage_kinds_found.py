"""What ``check`` finds of damage that was written without reading it, and what it says of harmless edits.

    python tests/benchmarks/damage_kinds_found.py [--only REGEX] [--one-a-kind] [--sample N] [--details]

Small jobs are made once and kept in the temporary folder. Each case copies one, spoils it in one way (see
``tests/damage_kinds``) and checks it in a process of its own, which may take 2 GB and a minute. The tables count by
file and by the first promise that would be right: cases, those found, those found under a promise that would be right,
and faults: crashes, ends of the process, over a minute. Then each case that was missed or misnamed, and false alarms.
Cases in which nothing that matters could be changed are left out and counted.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"), "1")
sys.path.insert(0, str(Path(__file__).parents[1]))

from damage_kinds import HARMLESS, KINDS, Case, cases
from damage_kinds.folders import made
from damage_kinds.kinds import COMPLETE, FIGURES
from damage_kinds.things import NotHereError

import shadowrout
from shadowrout.errors import ShadowroutError

SECONDS_A_CASE = 60
MEMORY_BYTES = 2 << 30
SMOKE_BASES = ("tone", "r12")
SMOKE_CASES = 24
COLUMNS = ("cases", "found", "right promise", "misnamed", "missed", "crashed")


@dataclass(frozen=True)
class Outcome:
    """What became of one case: ``not here``, ``holds``, ``broken``, ``refused``, ``crashed``, ``died`` or ``hung``."""

    result: str
    promises: tuple[str, ...] = ()
    words: tuple[str, ...] = field(default=())
    seconds: float = 0.0

    def found(self) -> bool:
        return self.result in ("broken", "refused")

    def right(self, case: Case) -> bool:
        """Whether it is found under a promise that would be right; a folder that can't be read may be refused."""
        right = case.kind.right(case.form)
        if self.result == "refused":
            return bool(right & {COMPLETE, FIGURES})
        return self.result == "broken" and bool(right & set(self.promises))


def spoiled_and_checked(case: Case, root: Path) -> dict[str, object]:
    """Spoil a copy of the case's folder, check it and return what was found, as plain values."""
    folder = root / f"case-{os.getpid()}" / case.base
    shutil.copytree(root / "made" / case.base, folder)
    try:
        case.kind.spoil(folder, case.base, case.form)
        begin = time.monotonic()
        verdict = shadowrout.check(folder)
    except NotHereError as reason:
        return {"result": "not here", "words": [str(reason)]}
    except ShadowroutError as error:
        return {"result": "refused", "words": [str(error)]}
    results = [result for group in (*verdict.plaques, *verdict.stock) for result in group.results]
    broken = [result for result in results if result.holds is False]
    return {
        "result": "broken" if not verdict.holds else "holds",
        "promises": sorted({result.promise for result in broken}),
        "words": [f"{result.promise}: {finding.what}" for result in broken for finding in result.findings[:2]],
        "seconds": time.monotonic() - begin,
    }


def outcome(case: Case, root: Path) -> Outcome:
    """Run a case in a fork of this process, so that no end of it ends the others."""
    read, write = os.pipe()
    pid = os.fork()
    if not pid:
        os.close(read)
        _child(case, root, write)
    os.close(write)
    try:
        with os.fdopen(read, "rb") as pipe:
            told = pipe.read()
    finally:
        _, status = os.waitpid(pid, 0)
        shutil.rmtree(root / f"case-{pid}", ignore_errors=True)
    if told:
        values = json.loads(told)
        return Outcome(
            values["result"], tuple(values.get("promises", ())), tuple(values["words"]), values.get("seconds", 0)
        )
    return Outcome("hung" if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGALRM else "died")


def _child(case: Case, root: Path, write: int) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent, which then tells what is done
    signal.alarm(SECONDS_A_CASE)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    try:
        told = spoiled_and_checked(case, root)
    except Exception as error:  # whatever a check that should only find raises: that is what is counted
        told = {"result": "crashed", "words": [f"{type(error).__name__}: {error}"[:200]]}
    with os.fdopen(write, "wb") as pipe:
        pipe.write(json.dumps(told, default=str).encode())
    os._exit(0)


def chosen(arguments: argparse.Namespace) -> list[Case]:
    """Return the cases to run, damages first."""
    found = [*cases(KINDS), *cases(HARMLESS)]
    if arguments.one_a_kind:  # the first folder it is done to, both formats alike where it can be: the hardest to find
        found = list({id(case.kind): case for case in found[::-1] if case.base == case.kind.bases[0]}.values())[::-1]
        found = [Case(case.kind, case.base, case.kind.forms[-1]) for case in found]
    if arguments.smoke:
        found = [case for case in found if case.base in SMOKE_BASES]
    if arguments.only:
        found = [
            case for case in found if re.search(arguments.only, f"{case} harmless" if case.kind.harmless else str(case))
        ]
    count = SMOKE_CASES if arguments.smoke else arguments.sample
    if count and count < len(found):
        places = sorted(random.Random(arguments.seed).sample(range(len(found)), count))
        found = [found[place] for place in places]
    return found


def tables(done: dict[Case, Outcome]) -> None:
    harmful = {case: own for case, own in done.items() if not case.kind.harmless and own.result != "not here"}
    for title, key in (("file", lambda case: group_of(case)), ("promise", lambda case: case.kind.first)):
        rows: dict[str, Counter[str]] = defaultdict(Counter)
        for case, own in harmful.items():
            rows[key(case)].update(_counted(case, own))
            rows["all"].update(_counted(case, own))
        print(f"\n| {title} | {' | '.join(COLUMNS)} |\n|{' --- |' * (len(COLUMNS) + 1)}")
        for name in sorted(rows, key=lambda name: (name == "all", name)):
            print(f"| {name} | {' | '.join(str(rows[name][column]) for column in COLUMNS)} |")
    _summary(done, harmful)


def group_of(case: Case) -> str:
    """Return the kind of file, and the format of a drawing."""
    name = re.sub(r"-\d", "", case.kind.file)
    return f"{name} {case.form}".strip()


def _counted(case: Case, own: Outcome) -> dict[str, int]:
    right, found = own.right(case), own.found()
    crashed = own.result in ("crashed", "died", "hung")
    values = (1, found, right, found and not right, not found and not crashed, crashed)
    return dict(zip(COLUMNS, map(int, values), strict=True))


def _summary(done: dict[Case, Outcome], harmful: dict[Case, Outcome]) -> None:
    kinds: dict[tuple[str, str], list[bool]] = defaultdict(list)
    for case, own in harmful.items():
        kinds[case.kind.name, case.kind.file].append(own.right(case))
    whole = sum(all(rows) for rows in kinds.values())
    harmless = {case: own for case, own in done.items() if case.kind.harmless and own.result != "not here"}
    alarms = {case: own for case, own in harmless.items() if own.result != "holds"}
    right = sum(own.right(case) for case, own in harmful.items())
    skipped = sum(own.result == "not here" for own in done.values())
    slowest = max((own.seconds for own in done.values()), default=0)
    print(f"\n{len(kinds)} kinds of damage, {whole} found under a right promise in every form;", end=" ")
    print(f"{right} of {len(harmful)} cases ({right / max(1, len(harmful)):.1%}); {skipped} cases not here")
    print(f"{len(harmless)} harmless edits, {len(alarms)} false alarms; slowest check {slowest:.1f} s")


def details(done: dict[Case, Outcome]) -> None:
    for title, wanted in (("missed", "holds"), ("misnamed", "broken"), ("crashed", "crashed"), ("died", "died"),
                          ("hung", "hung"), ("refused, and shouldn't be", "refused")):  # fmt: skip
        rows = [
            (case, own)
            for case, own in done.items()
            if not case.kind.harmless and own.result == wanted and not own.right(case)
        ]
        if rows:
            print(f"\n## {title}: {len(rows)}")
        for case, own in rows:
            said = f" -> {', '.join(own.promises) or '; '.join(own.words)}" if own.result != "holds" else ""
            print(f"{case}: {', '.join(sorted(case.kind.right(case.form)))}{said}")
    alarms = [
        (case, own) for case, own in done.items() if case.kind.harmless and own.result not in ("holds", "not here")
    ]
    print(f"\n## false alarms: {len(alarms)}")
    for case, own in alarms:
        print(f"{case}: {own.result} {'; '.join(own.words[:3])}")


def run(picked: list[Case]) -> dict[Case, Outcome]:
    """Run the cases in their order; Ctrl-C ends it with what is done."""
    root = made(*dict.fromkeys(case.base for case in picked))
    done: dict[Case, Outcome] = {}
    try:
        for case in picked:
            done[case] = outcome(case, root)
            if len(done) % 100 == 0:
                print(f"{len(done)} of {len(picked)}", file=sys.stderr, flush=True)
    except KeyboardInterrupt:
        print(f"stopped after {len(done)} of {len(picked)} cases", file=sys.stderr)
    return done


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--only", help="cases whose name, as --list shows it, holds this regular expression")
    parser.add_argument("--one-a-kind", action="store_true", help="one case of each kind, done to both formats alike")
    parser.add_argument("--sample", type=int, default=0, help="so many cases, drawn by the seed")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--list", action="store_true", help="name the cases and stop")
    parser.add_argument("--details", action="store_true", help="name each case missed, misnamed or alarmed over")
    parser.add_argument("--record", type=Path, help="a file for what became of each case, as JSON")
    parser.add_argument("--smoke", action="store_true", help="a small part, to see that all of it runs")
    arguments = parser.parse_args()
    picked = chosen(arguments)
    if arguments.list:
        print("\n".join(map(str, picked)))
        return
    done = run(picked)
    tables(done)
    if arguments.details:
        details(done)
    if arguments.record:
        rows = {
            str(case): [own.result, own.promises, own.words, sorted(case.kind.right(case.form))]
            for case, own in done.items()
        }
        arguments.record.write_text(json.dumps(rows, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
