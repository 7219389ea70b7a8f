"""The command line: parse, call ``make``, show what came of it. Only this room exits."""

from __future__ import annotations

import argparse
import difflib
import json
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

from shadowrout.errors import InputError, PromiseError, SettingError, ShadowroutError, UncheckedError, told
from shadowrout.job.flags import ONE_A_SECTION, default_of, given_as, with_flags
from shadowrout.job.job_unit import bare_lengths
from shadowrout.job.options import TABLES, Job
from shadowrout.job.schema import JobTable, settings_of
from shadowrout.job.value_kinds import Switch
from shadowrout.make.memory import check_memory
from shadowrout.make.worker import collect_rarely
from shadowrout.make.workers import workers_asked
from shadowrout.words.cautions import CAUTIONS
from shadowrout.words.program import VERSION
from shadowrout.words.progress import shown_progress
from shadowrout.words.terminal import ended, prepare, say, say_json, tell

_EPILOG = 'Lengths are read as people write them: 200mm, 20cm, 8 1/2in, 3/8". A plain number is millimetres.'

COMMANDS = ("make", "batch", "preview-tone", "start", "check", "demo")

_OF_THE_TONE = [table for table in TABLES if table.heading in ("picture", "tone", "plaque", "finish", "v_tool")]
"""The settings that a two-tone design depends on."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    0 done; 2 wrong usage or settings; 3 the input can't be used; 4 a promise does not hold; 1 anything
    unforeseen. Results go to standard output, everything else to standard error.
    """
    prepare()
    collect_rarely()
    return ended(_code_of(sys.argv[1:] if arguments is None else list(arguments)))


def _code_of(arguments: list[str]) -> int:
    try:
        return _run(arguments)
    except KeyboardInterrupt as stop:
        return _failed(f"stopped; {str(stop) or 'no file is half-written'}", 130)
    except SystemExit as shown:  # help, or the version
        return int(shown.code or 0)
    except Exception as error:  # whatever is left: a user gets one line and no traceback
        unforeseen = not isinstance(error, ShadowroutError | MemoryError) or isinstance(error, UncheckedError)
        if os.environ.get("SHADOWROUT_TRACEBACK") and unforeseen:
            raise
        code, message = told(error)
        return _failed(message, code)


def _run(arguments: list[str]) -> int:
    parser = _parser()
    _check_command(arguments)
    options, rest = parser.parse_known_args(_with_minus_tied(arguments))
    if rest:
        raise _unknown_argument(rest[0], options)
    check_memory()
    try:
        done: int = options.run(options)
    except SettingError as error:
        raise _under_its_flag(error, options) from error
    return done


def _check_command(arguments: list[str]) -> None:
    """Raise SettingError where the first argument is no command, with the one that was meant."""
    if not arguments or arguments[0].startswith("-") or arguments[0] in COMMANDS:
        return
    name = arguments[0]
    near = difflib.get_close_matches(name.lower(), COMMANDS, n=1, cutoff=0.5)
    advice = f"did you mean {near[0]}?" if near else "there are " + ", ".join(COMMANDS)
    if Path(name).is_file():
        advice = f"to make plaques of this file: shadowrout make {name}"
    raise SettingError(name, f"there is no such command; {advice}")


def _under_its_flag(error: SettingError, options: argparse.Namespace) -> SettingError:
    """Return the error about a setting under the name by which it was given: its flag's where one was."""
    for table in TABLES:
        for declared in settings_of(table.section):
            given = getattr(options, _place(declared.flag), None) is not None
            if error.key == f"{table.heading}.{declared.name}" and given:
                return SettingError(declared.flag, error.problem)
    return error


def _with_minus_tied(arguments: list[str]) -> list[str]:
    """Return the arguments with each value that begins as a negative number tied to its flag by ``=``.

    Else the parser would take the value of ``--subject -0.1,0,0.9,1`` for a flag.
    """
    tied: list[str] = []
    for argument in arguments:
        if re.match(r"-[0-9.]", argument) and tied and re.fullmatch(r"--[a-z-]+", tied[-1]):
            tied[-1] += "=" + argument
        else:
            tied.append(argument)
    return tied


def _make(options: argparse.Namespace) -> int:
    job = _asked_job(options)
    return _made(job, Path(options.out or f"{job.picture.file.stem}-plaques"), options)


def _asked_job(options: argparse.Namespace) -> Job:
    """Return the job as asked for; settings of the tools that don't go together are refused before libraries load."""
    from shadowrout.make.inputs import check_tools, job_of

    job = with_flags(job_of(options.source), _given(options))
    check_tools(job)
    for bare in bare_lengths(job):
        by_flag = getattr(options, _place(bare.flag), None) is not None
        _tell(bare.told(f"{bare.flag} " if by_flag else f"{bare.key} = "))
    return job


def _preview_tone(options: argparse.Namespace) -> int:
    job = _asked_job(options)
    out = Path(options.out or f"{job.picture.file.stem}-tones.png")
    from shadowrout.make import pipeline

    with shown_progress(sys.stderr) as progress:
        preview = pipeline.preview_tone(job, out, progress=progress)
    tone = preview.job.tone
    first = "" if len(job.plaques) == 1 else f", the first of {len(job.plaques)} plaques"
    told = f"{preview.job.plaques[0].name}{first}, finest line {preview.finest_line}"
    say(f"{out}: {told}. To get one of its designs, add:")
    for trial in preview.trials:
        say(
            f"{'>' if trial.chosen else ' '} {trial.flags}"
            + (f"   can't be made: {trial.problem}" if trial.problem else "")
        )
    chosen = "its own share of dark" if tone.dark is None else f"dark {tone.dark:g}"
    say(f"Without these flags make takes {tone.method}, {chosen}.")
    return 0


def _demo(options: argparse.Namespace) -> int:
    from shadowrout.make import demo

    out = Path(options.out)
    done = _made(demo.example_in(out), out, options)
    if not options.json:
        say("\nBefore you cut:")
        for caution in CAUTIONS:
            say(f"- {caution}")
    return done


def _start(options: argparse.Namespace) -> int:
    from shadowrout.make.inputs import check_there

    picture = Path(options.photo)
    check_there(picture)
    out = Path(options.out or f"{picture.stem}.toml")
    if out.resolve() == picture.resolve():
        raise SettingError("--out", f"{out} is the picture itself; give another name")
    if out.exists() and not options.replace:
        raise SettingError("--out", f"{out} is there already; give another name, or --replace")
    from shadowrout.make import pipeline

    pipeline.start_file(picture, out)
    say(f"{out}: change what you like, then run: shadowrout make {out}")
    return 0


def _made(job: Job, out: Path, options: argparse.Namespace) -> int:
    from shadowrout.make import pipeline

    with shown_progress(sys.stderr) as progress:
        made = pipeline.make(job, out, workers=workers_asked(options.workers), progress=progress)
    if options.json:
        say_json(made.numbers)
    else:
        say(made.closing_words)
        say(f"Written to {out}")
    if made.left:
        _tell_left(out, made.left)
    if made.verdict.holds:
        return 0
    tell(made.verdict.as_text())
    return PromiseError.exit_code


def _tell_left(out: Path, left: Sequence[str]) -> None:
    what = "from an earlier run and not of this job, remove it if nobody needs it"
    _tell(f"still in {out}, {what}: {', '.join(left)}")


def _tell(sentence: str) -> None:
    """Print what a person should know and no result depends on, as the program's own."""
    tell(f"shadowrout: {sentence}")


def _batch(options: argparse.Namespace) -> int:
    from shadowrout.make.batch.batch_run import run
    from shadowrout.make.batch.orders import orders_of
    from shadowrout.make.batch.summary import as_json, exit_code, summary

    workers = workers_asked(options.workers)
    out = Path(options.out)
    orders = orders_of([Path(source) for source in options.source], out)
    try:
        with shown_progress(sys.stderr) as progress:
            results = run(orders, out, workers=min(workers, len(orders)), progress=progress)
    except KeyboardInterrupt:
        return _failed("stopped; no file is half-written, and the same command goes on with what is left", 130)
    if options.json:
        say_json(as_json(results))
    else:
        say(summary(results))
    for result in results:
        for bare in result.bare:
            _tell(f"{result.order.name}: {bare.told(f'{bare.key} = ')}")
        if result.left:
            _tell_left(result.order.out, result.left)
    return exit_code(results)


def _check(options: argparse.Namespace) -> int:
    if not Path(options.folder).is_dir():
        raise InputError(options.folder, "is no folder; name one that shadowrout make has written")
    from shadowrout.make.verdicts import check

    with shown_progress(sys.stderr) as progress:
        verdict = check(Path(options.folder), workers=workers_asked(options.workers), progress=progress)
    again, problem = _made_again(options)
    if options.json:
        made_again = {} if again is None else {"made_again": again.as_dict()}
        say_json(json.dumps(verdict.as_dict() | made_again, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
    else:
        say("\n\n".join([verdict.as_text(), *([] if again is None else [again.as_text()])]))
    if not verdict.holds and not options.json:
        say(f"To make the files again: shadowrout make {Path(options.folder) / 'job.toml'} --out {options.folder}")
    if problem is not None:
        code = _failed(f"it can't be made again: {told(problem)[1]}", problem.exit_code)
        return code if verdict.holds else PromiseError.exit_code
    return 0 if verdict.holds and (again is None or again.same) else PromiseError.exit_code


def _made_again(options: argparse.Namespace) -> tuple[Any, ShadowroutError | None]:
    """Return what making the job again showed, where that was asked for, or why it can't be made any more."""
    if not options.made_again:
        return None, None
    from shadowrout.make.made_again import made_again

    try:
        with shown_progress(sys.stderr) as progress:
            return made_again(options.folder, workers=workers_asked(options.workers), progress=progress), None
    except ShadowroutError as problem:
        return None, problem


def _given(options: argparse.Namespace) -> dict[str, Any]:
    return {flag: getattr(options, _place(flag), None) for flag in _setting_flags()}


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        told = message
        if missing := re.fullmatch(r"the following arguments are required: (.+)", message):
            told = f"{missing[1]} is missing"
            if missing[1] == "COMMAND":
                told = f"say what to do, as in: shadowrout make PHOTO; there are {', '.join(COMMANDS)}"
        elif alone := re.fullmatch(r"argument (--[\w-]+): expected one argument", message):
            told = f"{alone[1]} stands without its value"
        raise SettingError("usage", f"{told}; see {self.prog} --help")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="shadowrout",
        description="From a picture to a carved two-tone plaque.",
        epilog=_EPILOG,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"shadowrout {VERSION}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND", dest="command")
    make = _command(commands, "make", _make, "make the files for every plaque of a photo or a job file")
    make.usage = "shadowrout make PHOTO|JOB.toml [--out DIR] [--size 200x250mm]... [settings, below]"
    make.add_argument("source", metavar="PHOTO|JOB.toml")
    make.add_argument("--out", metavar="DIR", help="folder for the results; default: the picture's name and -plaques")
    make.add_argument("--json", action="store_true", help="print the figures for programs")
    _add_settings(make)
    orders = _command(commands, "batch", _batch, "make many orders, several at a time; goes on where it was stopped")
    orders.add_argument("source", metavar="JOB.toml|DIR", nargs="+", help="job files, or folders that hold some")
    orders.add_argument(
        "--out", metavar="DIR", default="plaques", help="folder for one folder an order; default: plaques"
    )
    orders.add_argument("--json", action="store_true", help="print what became of each order for programs")
    preview = _command(
        commands, "preview-tone", _preview_tone, "draw what each method makes of a photo, on one sheet to choose from"
    )
    preview.usage = "shadowrout preview-tone PHOTO|JOB.toml [--out FILE.png] [settings, below]"
    preview.add_argument("source", metavar="PHOTO|JOB.toml")
    preview.add_argument("--out", metavar="FILE.png", help="the sheet; default: the picture's name and -tones.png")
    _add_settings(preview, _OF_THE_TONE)
    start = _command(commands, "start", _start, "write a commented job file that fits a photo")
    start.add_argument("photo", metavar="PHOTO")
    start.add_argument("--out", metavar="JOB.toml", help="the job file; default: the picture's name and .toml")
    start.add_argument("--replace", action="store_true", help="write over a job file that is there")
    check = _command(commands, "check", _check, "test the promises on the written files")
    check.add_argument("folder", metavar="DIR")
    check.add_argument("--json", action="store_true", help="print the findings for programs")
    check.add_argument(
        "--made-again", action="store_true", help="make the job anew, in memory, and tell which files differ from it"
    )
    demo = _command(commands, "demo", _demo, "run the main job on a built-in example")
    demo.add_argument(
        "--out", metavar="DIR", default="shadowrout-demo", help="folder for the results; default: shadowrout-demo"
    )
    demo.add_argument("--json", action="store_true", help="print the figures for programs")
    for command in (make, orders, check, demo):
        command.add_argument("--workers", metavar="N", help="processes at a time; default: one for each processor")
    return parser


def _command(commands: Any, name: str, run: Any, about: str) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(
        name, help=about, description=about[0].upper() + about[1:] + ".", epilog=_EPILOG, allow_abbrev=False
    )
    command.set_defaults(run=run)
    return command


def _add_settings(parser: argparse.ArgumentParser, tables: Sequence[JobTable] = TABLES) -> None:
    """Add a flag for each setting of the tables, under the job file's headings."""
    for table in tables:
        group = parser.add_argument_group(f"[{table.heading}]")
        for declared in settings_of(table.section):
            if declared.flag not in _setting_flags():
                continue
            if isinstance(declared.kind, Switch):
                told = f"{declared.about} Default: {'on' if declared.default else 'off'}"
                action = argparse.BooleanOptionalAction
                group.add_argument(declared.flag, dest=_place(declared.flag), action=action, help=told)
                continue
            told = f"{declared.about} Give {given_as(declared)}; default: {default_of(declared)}".replace("%", "%%")
            group.add_argument(
                declared.flag,
                dest=_place(declared.flag),
                metavar=declared.name.upper(),
                action="append" if declared.flag in ONE_A_SECTION else "store",
                help=told,
            )


def _setting_flags() -> tuple[str, ...]:
    """Return the flags of all settings but the picture's file, which has a place of its own."""
    return tuple(s.flag for table in TABLES for s in settings_of(table.section) if s.flag != "--file")


def _place(flag: str) -> str:
    return "setting_" + flag.lstrip("-").replace("-", "_")


def _unknown_argument(argument: str, options: argparse.Namespace) -> ShadowroutError:
    name = argument.split("=")[0]
    if not name.startswith("-"):
        if name.lower() in ("yes", "no", "on", "off", "true", "false"):
            return SettingError(name, "a switch stands alone: --flow turns it on, --no-flow off")
        return SettingError(name, f"is one argument too many; see shadowrout {options.command} --help")
    taken = vars(options).keys()
    if name in _setting_flags() and _place(name) not in taken:
        other = "write that into the job file, or give it to make" if options.command == "start" else "give it to make"
        return SettingError(name, f"{options.command} takes no such flag; {other}")
    own = ("--out", "--json", "--replace", "--workers")
    known = [flag for flag in _setting_flags() if _place(flag) in taken]
    known += [flag for flag in own if flag[2:] in taken] + ["--help"]
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.7)
    advice = f"did you mean {near[0]}?" if near else f"see shadowrout {options.command} --help"
    return SettingError(name, f"there is no such flag; {advice}")


def _failed(message: str, code: int) -> int:
    _tell(message)
    return code
