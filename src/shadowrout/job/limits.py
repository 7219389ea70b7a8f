"""Limits of settings that other rooms go by as well."""

from __future__ import annotations

LEAST_SIDE_MM = 40.0
"""Least side of a board: with the usual margin it leaves 24 mm to the picture."""

GREATEST_SIDE_MM = 1200.0
"""Greatest side of a board: about the width of a sheet of hardboard, 4 feet (common practice, no source)."""

LEAST_DARK = 0.02
"""Least share of shadow: a thin outline drawing on an empty ground has about so much (no source)."""

GREATEST_DARK = 0.9
"""Greatest share of shadow: a thin light drawing on a dark ground (no source)."""
