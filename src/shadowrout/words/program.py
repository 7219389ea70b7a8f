"""What the program calls itself in the files that it writes."""

from __future__ import annotations

VERSION = "0.1.0"
