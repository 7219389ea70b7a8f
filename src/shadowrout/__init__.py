"""From a picture to a carved two-tone plaque: outlines at true size, depths, SVG and DXF.

For programs. A whole job, from a picture's file to a folder of results:

- ``Job`` and its sections (``Picture``, ``Plaque``, ``Cutter``, ...), checked when they are made; ``Job.from_file``
- ``start`` a job that fits a picture, ``preview_tone``, ``make`` the files, ``check`` them
- ``Made``, ``TonePreview`` and ``Verdict`` are what these give

One step at a time, in memory: ``plaques_of`` a job, ``design_of``, ``carving_of``, ``drawing_of``, then ``svg_bytes``
or ``dxf_bytes``.

Lengths are millimetres, angles degrees, shares run from 0 to 1; y points up on a plaque, rows of arrays run downwards.
Each error is a ``ShadowroutError``. Nothing is loaded until it is used. ``docs/python.md`` shows both ways.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shadowrout.carving.plaque_carving import PlaqueCarving as PlaqueCarving
    from shadowrout.check.findings import Finding as Finding
    from shadowrout.check.findings import PlaqueVerdict as PlaqueVerdict
    from shadowrout.check.findings import PromiseResult as PromiseResult
    from shadowrout.check.findings import Verdict as Verdict
    from shadowrout.design.plaque_design import PlaqueDesign as PlaqueDesign
    from shadowrout.drawing.shapes import Drawing as Drawing
    from shadowrout.errors import InputError as InputError
    from shadowrout.errors import OutputError as OutputError
    from shadowrout.errors import PromiseError as PromiseError
    from shadowrout.errors import SettingError as SettingError
    from shadowrout.errors import ShadowroutError as ShadowroutError
    from shadowrout.files.dxf import dxf_bytes as dxf_bytes
    from shadowrout.files.svg import svg_bytes as svg_bytes
    from shadowrout.geometry.arcs import ArcPath as ArcPath
    from shadowrout.geometry.region import Region as Region
    from shadowrout.job.options import Cutter as Cutter
    from shadowrout.job.options import Finish as Finish
    from shadowrout.job.options import Job as Job
    from shadowrout.job.options import Output as Output
    from shadowrout.job.options import Picture as Picture
    from shadowrout.job.options import Plaque as Plaque
    from shadowrout.job.options import ToneOptions as ToneOptions
    from shadowrout.job.options import VTool as VTool
    from shadowrout.job.options import Wood as Wood
    from shadowrout.job.sheet_options import PatternOptions as PatternOptions
    from shadowrout.job.sheet_options import RegisterOptions as RegisterOptions
    from shadowrout.job.sheet_options import StencilOptions as StencilOptions
    from shadowrout.job.sheet_options import StockOptions as StockOptions
    from shadowrout.job.sheet_options import TemplateOptions as TemplateOptions
    from shadowrout.job.shop import Shop as Shop
    from shadowrout.make.pipeline import Made as Made
    from shadowrout.make.pipeline import TonePreview as TonePreview
    from shadowrout.make.pipeline import make as make
    from shadowrout.make.pipeline import preview_tone as preview_tone
    from shadowrout.make.pipeline import start as start
    from shadowrout.make.plaque import PlaqueToMake as PlaqueToMake
    from shadowrout.make.step_by_step import carving_of as carving_of
    from shadowrout.make.step_by_step import design_of as design_of
    from shadowrout.make.step_by_step import drawing_of as drawing_of
    from shadowrout.make.step_by_step import plaques_of as plaques_of
    from shadowrout.make.verdicts import check as check
    from shadowrout.picture.photo import Photo as Photo

__version__ = "0.1.0"

_WHERE = {
    "carving.plaque_carving": ("PlaqueCarving",),
    "check.findings": ("Finding", "PlaqueVerdict", "PromiseResult", "Verdict"),
    "design.plaque_design": ("PlaqueDesign",),
    "drawing.shapes": ("Drawing",),
    "errors": ("InputError", "OutputError", "PromiseError", "SettingError", "ShadowroutError"),
    "files.dxf": ("dxf_bytes",),
    "files.svg": ("svg_bytes",),
    "geometry.arcs": ("ArcPath",),
    "geometry.region": ("Region",),
    "job.options": ("Cutter", "Finish", "Job", "Output", "Picture", "Plaque", "ToneOptions", "VTool", "Wood"),
    "job.sheet_options": ("PatternOptions", "RegisterOptions", "StencilOptions", "StockOptions", "TemplateOptions"),
    "job.shop": ("Shop",),
    "make.pipeline": ("Made", "TonePreview", "make", "preview_tone", "start"),
    "make.plaque": ("PlaqueToMake",),
    "make.step_by_step": ("carving_of", "design_of", "drawing_of", "plaques_of"),
    "make.verdicts": ("check",),
    "picture.photo": ("Photo",),
}
"""The modules that hold what is offered here, each loaded when one of its names is used for the first time."""

_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}

__all__ = sorted(_MODULE_OF)


class _FrontDoor(ModuleType):
    """This package, in which ``make`` and ``check`` are functions: a room of that name doesn't take their place.

    Python sets each module that it loads as an attribute of its package (import system, 5.4.2 Submodules).
    """

    def __setattr__(self, name: str, value: object) -> None:
        if not (name in _MODULE_OF and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _FrontDoor


def __getattr__(name: str) -> Any:
    """Load what is offered when it is used for the first time (PEP 562)."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
