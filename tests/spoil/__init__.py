"""Ways to damage a plaque's written files, each with the promise it breaks and words that must name it.

One module a subject; ``DAMAGES`` holds those of all. Most work on any plaque that has pockets, V lines and a shadow
with a hole.
"""

from __future__ import annotations

import pkgutil
from importlib import import_module

from spoil.handles import DAMAGES, Damage

for _module in pkgutil.iter_modules(__path__):
    import_module(f"{__name__}.{_module.name}")

__all__ = ["DAMAGES", "Damage"]
