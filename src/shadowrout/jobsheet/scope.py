"""What kinds of work the files of a job are for."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass


@dataclass(frozen=True)
class Scope:
    """Whether a machine roughs from the drawing, hands carve along it, and what is cut beside the plaque."""

    machine: bool
    hand: bool
    template: bool
    stencil: bool

    @property
    def plaque(self) -> bool:
        """Whether the plaque itself is made, so that wood, paint and sanding are to be planned."""
        return self.machine or self.hand or self.template

    @property
    def roughs(self) -> bool:
        """Whether pockets are roughed out by machine or by a router on a template."""
        return self.machine or self.template


def scope_of(files: Collection[str]) -> Scope:
    """Return the work that the asked-for ``files`` are for; previews alone are made to plan a whole plaque by."""
    whole = "carve" in files or set(files) == {"preview"}
    return Scope(
        machine=whole, hand=whole or "pattern" in files, template="template" in files, stencil="stencil" in files
    )
