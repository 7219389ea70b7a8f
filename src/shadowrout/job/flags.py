"""Settings given on the command line, laid over a job."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from shadowrout.errors import SettingError
from shadowrout.job.options import TABLES, Job
from shadowrout.job.schema import JobTable, Setting, Settings, read_setting, settings_of
from shadowrout.job.value_kinds import Box, Boxes, Choices, NumberRows

ONE_A_SECTION = frozenset({"--size", "--name", "--board-wood", "--board-coats", "--cutter"})
"""Flags that may come often: the first ``--size`` is the first plaque's, the second the second's."""

_MAKES_SECTIONS = frozenset({"--size", "--cutter"})
"""Of those, the flags that say how many plaques or cutters there are."""


def given_as(declared: Setting) -> str:
    """Return what may be given for a setting on the command line, where lists have no brackets."""
    kind = declared.kind
    if isinstance(kind, Box):
        return kind.allowed.replace("[0.1, 0, 0.9, 1]", "0.1,0,0.9,1")
    if isinstance(kind, Boxes):
        return "left,top,right,bottom as shares from 0 to 1, the next after a semicolon, all in quotes"
    if isinstance(kind, NumberRows):
        row = ",".join(kind.names)
        return f"{row}, the next after a semicolon, all in quotes"
    return f"{kind.allowed}, with commas between them" if isinstance(kind, Choices) else kind.allowed


def default_of(declared: Setting) -> str:
    """Return a setting's default as the command line takes it, or in words what it follows from."""
    if declared.default is None:
        return declared.when_unset
    return declared.kind.write(declared.default).replace('"', "").replace(", ", ",").strip("[]") or "none"


def with_flags(job: Job, flags: Mapping[str, Any]) -> Job:
    """Return the job with the settings replaced that flags gave.

    ``flags`` maps a flag, as ``--margin``, to its text, or to a list of texts for those in ``ONE_A_SECTION``;
    None stands for a flag that wasn't given. Sizes replace the job's plaques by as many as were given, each
    with the first plaque's other settings but its name; ``--cutter`` does the same for cutters. Any other
    flag of a plaque or a cutter holds for all of them. Raises SettingError that names the flag.
    """
    changed: dict[str, Any] = {}
    for table in TABLES:
        given = {s.flag: flags[s.flag] for s in settings_of(table.section) if flags.get(s.flag) is not None}
        if given:
            sections = _laid_over(table, table.sections_of(job), given)
            changed[table.field] = sections if table.many else sections[0]
    return dataclasses.replace(job, **changed)


def _laid_over(table: JobTable, sections: Sequence[Any], given: Mapping[str, Any]) -> tuple[Any, ...]:
    for flag in _MAKES_SECTIONS & given.keys():
        base = sections[0]
        if flag == "--size":
            base = dataclasses.replace(base, name=None)
        sections = [base] * len(given[flag])
    for flag in ONE_A_SECTION & given.keys():
        if len(given[flag]) != len(sections):
            raise SettingError(flag, f"was given {len(given[flag])} times for {len(sections)}; give one for each")
    return tuple(_with_values(table, section, index, given) for index, section in enumerate(sections))


def _with_values(table: JobTable, section: Settings, index: int, given: Mapping[str, Any]) -> Any:
    values = {}
    for declared in settings_of(table.section):
        if declared.flag in given:
            value = given[declared.flag]
            text = value[index] if declared.flag in ONE_A_SECTION else value
            values[declared.name] = read_setting(declared, text, key=declared.flag)
    return dataclasses.replace(section, **values)
