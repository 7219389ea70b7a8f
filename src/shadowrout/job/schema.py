"""What a setting is, and a section of settings: its kind, default, unit, limits and one line about it.

Sections are frozen dataclasses whose fields are made by ``setting``. Job file, flags, the commented job file and the
reference page are all derived from that one declaration, and so is the check of every section that is made.
"""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, ClassVar, Protocol, TypeVar, get_args, get_origin, get_type_hints

from shadowrout.errors import SettingError

MOST_TABLES = 200
"""Plaques or cutters of one job: a fair's worth, each worked out on its own (a judgement)."""

_LONGEST_SHOWN = 60
"""Letters of a value, or of a key that isn't known, that a message repeats, so that it stays readable."""

SomeSettings = TypeVar("SomeSettings", bound="Settings")


class ValueKind(Protocol):
    """How the values of one kind of setting are read, checked and written."""

    @property
    def allowed(self) -> str:
        """What may be given, as it stands in messages and in the reference."""

    def read(self, value: object) -> Any:
        """Return the checked value of what a job file or a flag gave; raises ValueError saying what is wrong."""

    def held(self, value: object) -> Any:
        """Return the checked value of what a program gave, in the type that sections hold.

        Text is taken as ``read`` takes it; a number is millimetres and no ``Bare`` length. What ``read`` or ``held``
        has returned comes back equal. Raises ValueError saying what is wrong.
        """

    def write(self, value: Any) -> str:
        """Return the value as TOML, such that ``read`` gives the same value back."""


@dataclass(frozen=True)
class Setting:
    """The declaration of one key: where it stands, what it may be and what it does."""

    name: str
    kind: ValueKind
    about: str
    default: Any
    when_unset: str
    flag: str


def setting(kind: ValueKind, about: str, *, default: Any = None, when_unset: str = "", flag: str = "") -> Any:
    """Declare a dataclass field as a setting.

    ``default`` is as a person would write it; None leaves the choice to the program, and ``when_unset`` says
    what it will choose. ``flag`` is the command-line name where it must differ from the key's.
    """
    value = None if default is None else kind.read(default)
    return dataclasses.field(
        default=value, metadata={"kind": kind, "about": about, "when_unset": when_unset, "flag": flag}
    )


@dataclass(frozen=True)
class Settings:
    """Base of the sections, frozen dataclasses of settings: whichever way one is made, its values are checked.

    A field takes its own type, or what a job file may hold for it: a length is millimetres or text with a unit. Inside
    are the final types alone: numbers are floats rounded to 1e-6, lists are tuples, paths are ``Path``. A wrong value
    raises SettingError with the setting's full key, as ``cutter.diameter``.
    """

    heading: ClassVar[str]
    """The name of its table in a job file."""

    def __init_subclass__(cls, *, heading: str = "") -> None:
        cls.heading = heading or cls.heading  # a program's own kind of a section has that section's

    def __post_init__(self) -> None:
        for declared in settings_of(type(self)):
            value = getattr(self, declared.name)
            if value is not declared.default:  # which was checked when it was declared
                key = f"{self.heading}.{declared.name}"
                object.__setattr__(self, declared.name, _checked(declared, declared.kind.held, value, key))


@dataclass(frozen=True)
class JobTable:
    """A table of the job file: its field of Job, the section that it becomes, and whether it may come often."""

    field: str
    section: type[Settings]
    many: bool

    @property
    def heading(self) -> str:
        """Its name in a job file."""
        return self.section.heading

    @property
    def in_brackets(self) -> str:
        """Its heading as it stands over the table."""
        return f"[[{self.heading}]]" if self.many else f"[{self.heading}]"

    def sections_of(self, job: object) -> tuple[Any, ...]:
        """Return the job's sections that come from such tables."""
        value = getattr(job, self.field)
        return value if self.many else (value,)

    def check(self, value: object) -> tuple[Any, ...]:
        """Return what a job gave in this table's field as a tuple of sections; raises SettingError for others."""
        sections = (value,) if not self.many else value
        if not isinstance(sections, (tuple, list)) or not sections:
            raise self.none_given()
        self.check_count(sections)
        for section in sections:
            if not isinstance(section, self.section):
                raise SettingError(self.heading, f"{shown(section)} can't be used; give {self.section.__name__}(...)")
        return tuple(sections)

    def check_count(self, sections: Sequence[object]) -> None:
        """Raise SettingError for more tables than a job may have of them."""
        if len(sections) > MOST_TABLES:
            told = f"{len(sections):,} are too many; a job may have {MOST_TABLES}: make several jobs of it"
            raise SettingError(self.heading, told)

    def none_given(self) -> SettingError:
        """Return the error for a list of tables that is none, or has none in it."""
        return SettingError(self.heading, f"give one or more tables, each under {self.in_brackets}")


_DECLARED: dict[type, tuple[Setting, ...]] = {}
"""The settings of the sections asked for so far, since a job is made anew at every step of its settling."""


def settings_of(section: type[Settings]) -> tuple[Setting, ...]:
    """Return the declared settings of a section, in order."""
    if section not in _DECLARED:
        _DECLARED[section] = tuple(
            Setting(
                field.name,
                field.metadata["kind"],
                field.metadata["about"],
                field.default,
                field.metadata["when_unset"],
                field.metadata["flag"] or "--" + field.name.replace("_", "-"),
            )
            for field in dataclasses.fields(section)
        )
    return _DECLARED[section]


@cache
def tables_of(job: type) -> tuple[JobTable, ...]:
    """Return the tables that a job is made of, as its fields' types declare them: one section, or a tuple of some."""
    tables = []
    for name, declared in get_type_hints(job).items():
        many = get_origin(declared) is tuple
        tables.append(JobTable(name, get_args(declared)[0] if many else declared, many))
    return tuple(tables)


def read_setting(declared: Setting, value: object, *, key: str) -> Any:
    """Return the checked value of one setting; raises SettingError with ``key``, the value and what is allowed."""
    return _checked(declared, declared.kind.read, value, key)


def _checked(declared: Setting, check: Callable[[object], Any], value: object, key: str) -> Any:
    try:
        return check(value)
    except (ValueError, OverflowError, RecursionError) as problem:  # a number too large for a float, lists too deep
        raise SettingError(
            key, f"{shown(value)} can't be used{_reason(problem)}; give {declared.kind.allowed}"
        ) from None


def _reason(problem: Exception) -> str:
    """Return what is wrong with a value, in brackets; nothing where Python says only that it can't convert it."""
    told = isinstance(problem, ValueError) and str(problem) and "conver" not in str(problem)
    return f" ({problem})" if told else ""


def read_section(section: type[SomeSettings], table: object) -> SomeSettings:
    """Return a section filled from a table of a job file; raises SettingError for the first fault."""
    name = section.heading
    if not isinstance(table, dict):
        raise SettingError(name, f"{shown(table)} can't be used; give a table of settings, [{name}]")
    declared = {s.name: s for s in settings_of(section)}
    for key in table:
        if key not in declared:
            raise unknown(f"{name}.{key}", key, declared)
    values = {k: read_setting(declared[k], v, key=f"{name}.{k}") for k, v in table.items()}
    return section(**values)


def unknown(full_name: str, name: str, known: Iterable[str]) -> SettingError:
    """Return the error for a name that isn't known, with the nearest that is."""
    names = list(known)
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    advice = f"did you mean {near[0]}?" if near else "known here: " + ", ".join(names)
    return SettingError(_cut(full_name), f"there is no such key; {advice}")


def shown(value: object) -> str:
    """Return a value for a message, cut to a readable length, on one line."""
    try:
        text = repr(str(value) if isinstance(value, Path) else value)
    except (ValueError, RecursionError):  # Python writes out no number of over 4300 digits, nor lists too deep
        return "a value too long to show"
    return _cut(text)


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."
