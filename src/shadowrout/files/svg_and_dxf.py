"""A drawing's SVG and its DXF in one go."""

from __future__ import annotations

from shadowrout.drawing.shapes import Drawing
from shadowrout.files.backend import render_all
from shadowrout.files.dxf import Version, dxf_backend, fixed_dates
from shadowrout.files.svg import svg_backend


def svg_and_dxf_bytes(drawing: Drawing, *, version: Version) -> tuple[bytes, bytes]:
    """Return what ``svg_bytes`` and ``dxf_bytes`` do, with the work that both need done once."""
    with fixed_dates():
        svg, dxf = render_all(drawing, [svg_backend(), dxf_backend(version)])
    return svg, dxf
