"""From a picture to a carved two-tone plaque: outlines at true size, depths, SVG and DXF."""

__version__ = "0.1.0"
