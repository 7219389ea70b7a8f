"""From a picture to a carved two-tone plaque: outlines at true size, depths, SVG and DXF.

For programs. A whole job, from a picture's file to a folder of results:

- ``Job`` and its sections (``Picture``, ``Plaque``, ``Cutter``, ...), checked when they are made; ``Job.from_file``
- ``start`` a job that fits a picture, ``preview_tone``, ``make`` the files, ``check`` them
- ``Made`` with its ``JobFigures``, ``TonePreview`` and ``Verdict`` are what these give

One step at a time, in memory: ``plaques_of`` a job, ``design_of``, ``carving_of``, ``drawing_of``, then ``svg_bytes``
or ``dxf_bytes``.

Lengths are millimetres, angles degrees, shares run from 0 to 1; y points up on a plaque, rows of arrays run downwards.
Each error is a ``ShadowroutError``. Nothing is loaded until it is used. ``docs/python.md`` shows both ways.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType

_WHERE = {
    "carving.plaque_carving": ("PlaqueCarving",),
    "check.findings": ("Finding", "PromiseResult"),
    "check.verdict": ("PlaqueVerdict", "Verdict"),
    "design.plaque_design": ("PlaqueDesign",),
    "drawing.shapes": ("Drawing",),
    "errors": ("InputError", "OutputError", "PromiseError", "SettingError", "ShadowroutError", "UncheckedError"),
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
    "report.figures.job_figures": ("JobFigures", "PlaqueFigures"),
}
"""The modules that hold what is offered here, each loaded when one of its names is used for the first time.

``__init__.pyi`` says the same to type checkers, which don't run ``__getattr__``.
"""

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


def __getattr__(name: str) -> object:
    """Load what is offered when it is used for the first time (PEP 562)."""
    if name == "__version__":
        return import_module("shadowrout.words.program").VERSION
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
