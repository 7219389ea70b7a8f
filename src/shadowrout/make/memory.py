"""Whether the system lets this process have the memory that any job takes."""

from __future__ import annotations

import os

from shadowrout.errors import ShadowroutError

try:
    import resource
except ImportError:  # a system without such limits
    resource = None  # type: ignore[assignment]

_LEAST_MB = 1200
"""Address space that a plaque of 200 mm with every file takes, its check included: 1,137 MB measured with two
processors, of which 670 MB are the libraries'."""

_MB_A_PROCESSOR = 48
"""And for each processor more than two: a thread's stack and OpenBLAS's own room, 8 and 32 MB, and more."""


def check_memory() -> None:
    """Raise ShadowroutError where the limit of this process's address space (POSIX, RLIMIT_AS) is too low to begin.

    With less the libraries wait for memory for ever as they are loaded, or the files are written and their check fails.
    """
    if resource is None:
        return
    limit, _ = resource.getrlimit(resource.RLIMIT_AS)
    least_mb = _LEAST_MB + _MB_A_PROCESSOR * max(0, (os.cpu_count() or 1) - 2)
    if limit != resource.RLIM_INFINITY and limit < least_mb * 10**6:
        raise ShadowroutError(
            f"this process may have {limit / 1e6:.0f} MB of memory (ulimit -v) and needs {least_mb} MB at least; raise "
            "that limit"
        )
