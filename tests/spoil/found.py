"""Whether the check finds a damage, and names it by the promise that it breaks."""

from __future__ import annotations

import shutil
from collections.abc import Collection
from pathlib import Path

from shadowrout.check.checking import check_folder
from spoil.handles import DAMAGES, Damage


def damages_of(*wholes: str, modules: Collection[str] = ()) -> list[Damage]:
    """Return the damages meant for some of the whole folders, all or those of some modules of this package."""
    chosen = [damage for damage in DAMAGES if damage.whole in wholes]
    return [d for d in chosen if not modules or d.spoil.__module__.rpartition(".")[2] in modules]


def assert_found(damage: Damage, place: Path, scratch: Path) -> None:
    """Damage a copy of a plaque's whole folder ``place`` and expect a finding with the damage's words."""
    shutil.copytree(place.parent, scratch / "out")
    damage.spoil(scratch / "out" / place.name)
    verdict = check_folder(scratch / "out")
    result = verdict.plaques[0].result(damage.promise)
    told = [str(finding.what) for finding in result.findings]
    assert any(all(word in what for word in damage.words) for what in told), verdict.as_text()
    assert not result.holds
    assert not verdict.holds
