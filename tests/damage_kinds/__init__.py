"""Ways in which a folder of results can be spoiled, written from what the pages say of the files and nothing else.

Whoever wrote them had not read how ``check`` works: they hold it against what a careless user with an editor, a poor
converter, a bit flip, a folder synced by half or two orders mixed up would do. One module a subject; ``KINDS`` holds
all, ``HARMLESS`` the edits that must raise no alarm.
"""

from __future__ import annotations

import pkgutil
from importlib import import_module

from damage_kinds.kinds import ALL_KINDS, Case, Kind, cases

for _module in pkgutil.iter_modules(__path__):
    import_module(f"{__name__}.{_module.name}")

KINDS = [kind for kind in ALL_KINDS if not kind.harmless]
HARMLESS = [kind for kind in ALL_KINDS if kind.harmless]

__all__ = ["HARMLESS", "KINDS", "Case", "Kind", "cases"]
