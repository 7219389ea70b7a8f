"""The arrows between the rooms: values know nobody, stages know earlier stages, only some rooms know some libraries."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "shadowrout"

VALUES = {
    "errors",
    "units",
    "geometry",
    "kinds",
    "schema",
    "options",
    "progress",
    "cautions",
    "colours",
    "columns",
    "cutters",
    "depths",
}
STAGES = [
    "photo",
    "subject",
    "tone",
    "mask",
    "trace",
    "size",
    "widths",
    "plan",
    "templates",
    "fit",
    "drawing",
    "writers",
]

MAY_IMPORT = {
    "errors": set(),
    "units": set(),
    "progress": set(),
    "collector": set(),
    "one_thread": set(),
    "side_by_side": {"collector", "errors", "one_thread"},
    "cautions": set(),
    "colours": set(),
    "columns": set(),
    "cutters": {"errors"},
    "depths": {"errors", "options", "units"},
    "settle_tools": VALUES,
    "job_unit": VALUES,
    "spoken": VALUES | {"job_unit"},
    "geometry": {"errors"},
    "kinds": {"units"},
    "schema": {"errors", "kinds"},
    "options": {"kinds", "schema"},
    **{stage: VALUES | set(STAGES[:i]) for i, stage in enumerate(STAGES)},
    "writers": {"colours", "errors", "geometry", "drawing"},
    "settle": VALUES | {"photo", "tone", "templates", "settle_tools", "job_unit"},
    "make_plaque": VALUES | set(STAGES),
    "pictures": VALUES | {"photo", "subject", "settle"},
    "tone_sheet": VALUES | {"tone", "size", "settle", "pictures", "make_plaque"},
    "places": VALUES | {"writers"},
    "simulate": VALUES | {"plan", "size", "widths"},
    "check": {"errors", "columns", "units", "options", "jobfile", "kinds", "schema", "progress", "side_by_side"},
    "make_templates": VALUES | set(STAGES) | {"make_plaque", "pictures"},
    "plaque_files": VALUES | set(STAGES) | {"make_plaque", "make_templates", "simulate", "places"},
    "stock_files": VALUES | {"drawing", "make_templates", "plaque_files", "templates"},
    "jobsheet": VALUES | {"plan", "simulate", "templates"},
    "figures": VALUES | set(STAGES) | {"make_plaque", "make_templates", "jobsheet"},
    "report": VALUES | {"jobsheet"},
    "jobfile": VALUES | {"slips"},
    "slips": VALUES,
    "flags": VALUES,
    "pipeline": VALUES
    | {
        "check",
        "figures",
        "make_templates",
        "jobfile",
        "jobsheet",
        "make_plaque",
        "photo",
        "pictures",
        "places",
        "plaque_files",
        "repeatable",
        "settle",
        "settle_tools",
        "side_by_side",
        "size",
        "spoken",
        "stock_files",
        "tone_sheet",
        "writers",
    },
    "sources": VALUES | {"jobfile", "places"},
    "batch": VALUES
    | {"collector", "job_unit", "jobfile", "jobsheet", "one_thread", "pipeline", "places", "sources", "writers"},
    "reference": VALUES,
    "repeatable": set(),
    "demo": {"errors", "jobfile", "options", "writers"},
    "terminal": {"progress"},
    "cli": VALUES
    | {
        "batch",
        "check",
        "collector",
        "demo",
        "figures",
        "flags",
        "job_unit",
        "jobfile",
        "pipeline",
        "report",
        "settle_tools",
        "sources",
        "spoken",
        "terminal",
        "writers",
    },
    "__main__": {"cli"},
}

LIBRARY_ROOMS = {
    "shapely": {"geometry", "check"},
    "svgwrite": {"writers"},
    "reportlab": {"writers"},
    "ezdxf": {"writers"},
    "PIL": {"photo"},
    "pillow_heif": {"photo"},
    "tifffile": {"photo"},
    "contourpy": {"trace"},
    "argparse": {"cli"},
    "rectpack": {"templates"},
    "jinja2": {"jobsheet"},
}


def room_of(path: Path) -> str:
    return path.relative_to(SOURCE).parts[0].removesuffix(".py")


def imports(path: Path) -> set[str]:
    """Return the dotted names of all modules that a file imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


MODULES = sorted(path for path in SOURCE.rglob("*.py") if path != SOURCE / "__init__.py")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_a_module_imports_only_rooms_it_may_know(path):
    room = room_of(path)
    rooms = {name.split(".")[1] for name in imports(path) if name.startswith("shadowrout.")} - {"__version__"}
    assert rooms <= MAY_IMPORT[room] | {room}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_a_library_is_known_only_to_its_rooms(path):
    for name in imports(path):
        allowed = LIBRARY_ROOMS.get(name.split(".")[0])
        assert allowed is None or room_of(path) in allowed, name


def test_every_room_has_its_arrows():
    assert {room_of(path) for path in MODULES} <= MAY_IMPORT.keys()


def test_the_walk_sees_a_forbidden_arrow(tmp_path):
    spoiled = tmp_path / "units.py"
    spoiled.write_text("def f():\n    from shadowrout.plan import Plan\n    import ezdxf.units\n")
    assert imports(spoiled) == {"shadowrout.plan.Plan", "ezdxf.units"}
