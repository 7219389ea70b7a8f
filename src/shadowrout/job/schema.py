"""What a setting is: its kind, default, unit, limits and one line about it.

The options are frozen dataclasses whose fields are made by ``setting``. Job file, flags, the commented job file
and the reference page are all derived from that one declaration.
"""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, TypeVar

from shadowrout.errors import SettingError

Section = TypeVar("Section")


class Kind(Protocol):
    """How the values of one kind of setting are read, checked and written."""

    @property
    def allowed(self) -> str:
        """What may be given, as it stands in messages and in the reference."""

    def read(self, value: object) -> Any:
        """Return the checked value of what a job file or a flag gave; raises ValueError saying what is wrong."""

    def write(self, value: Any) -> str:
        """Return the value as TOML, such that ``read`` gives the same value back."""


@dataclass(frozen=True)
class Setting:
    """The declaration of one key: where it stands, what it may be and what it does."""

    name: str
    kind: Kind
    about: str
    default: Any
    when_unset: str
    flag: str


def setting(kind: Kind, about: str, *, default: Any = None, when_unset: str = "", flag: str = "") -> Any:
    """Declare a dataclass field as a setting.

    ``default`` is as a person would write it; None leaves the choice to the program, and ``when_unset`` says
    what it will choose. ``flag`` is the command-line name where it must differ from the key's.
    """
    value = None if default is None else kind.read(default)
    return dataclasses.field(
        default=value, metadata={"kind": kind, "about": about, "when_unset": when_unset, "flag": flag}
    )


def settings_of(section: type) -> tuple[Setting, ...]:
    """Return the declared settings of an options dataclass, in order."""
    return tuple(
        Setting(
            field.name,
            field.metadata["kind"],
            field.metadata["about"],
            field.default,
            field.metadata["when_unset"],
            field.metadata["flag"] or "--" + field.name.replace("_", "-"),
        )
        for field in dataclasses.fields(section)
        if "kind" in field.metadata
    )


def read_setting(declared: Setting, value: object, *, key: str) -> Any:
    """Return the checked value of one setting; raises SettingError with ``key``, the value and what is allowed."""
    try:
        return declared.kind.read(value)
    except ValueError as problem:
        reason = f" ({problem})" if str(problem) and "convert" not in str(problem) else ""
        raise SettingError(key, f"{shown(value)} can't be used{reason}; give {declared.kind.allowed}") from None


def read_section(section: type[Section], table: object, *, name: str) -> Section:
    """Return an options dataclass filled from a table of a job file; raises SettingError for the first fault."""
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
    return SettingError(full_name, f"there is no such key; {advice}")


def shown(value: object) -> str:
    """Return a value for a message, cut to a readable length, on one line."""
    text = repr(str(value) if isinstance(value, Path) else value)
    return text if len(text) <= 60 else text[:57] + "..."
