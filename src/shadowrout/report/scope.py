"""What kinds of work the files of a job are for."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass


@dataclass(frozen=True)
class Scope:
    """Which files there are to work by."""

    carve: bool = False
    pattern: bool = False
    template: bool = False
    stencil: bool = False
    preview: bool = False

    @property
    def plaque(self) -> bool:
        """Whether the plaque itself is made or planned, with all its work by hand, wood, paint and sanding."""
        return self.begins or self.preview

    @property
    def begins(self) -> bool:
        """Whether work on the board can begin: by pictures alone it is only planned."""
        return self.drawn or self.template

    @property
    def drawn(self) -> bool:
        """Whether a drawing shows the hand where to cut, each pocket with its number."""
        return self.carve or self.pattern

    @property
    def machine(self) -> bool:
        """Whether a machine roughs the pockets; a plan by pictures alone counts on one."""
        return self.carve or (self.plaque and not self.begins)

    @property
    def by_hand(self) -> bool:
        """Whether the pockets, too, are cut by hand, since nothing was made for a machine or a router."""
        return self.plaque and not (self.machine or self.template)


def scope_of(files: Collection[str]) -> Scope:
    """Return the work that the asked-for ``files`` are for."""
    return Scope(**dict.fromkeys(files, True))
