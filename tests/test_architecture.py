"""The arrows between the rooms: values know nobody, stages know earlier stages, only some rooms know some libraries."""

from __future__ import annotations

import ast
import re
import statistics
from functools import cache
from pathlib import Path

import pytest

import shadowrout

SOURCE = Path(__file__).parents[1] / "src" / "shadowrout"

FLOORS = [
    "words",
    "errors",
    "geometry",
    "job",
    "picture",
    "design",
    "fit",
    "carving",
    "sheets",
    "drawing",
    "files",
    "report",
    "check",
    "make",
    "cli",
    "__main__",
]
"""The rooms, from the ground up: each may know those below it, less what stands in ``CLOSED``."""

CLOSED = {
    "geometry": {"words"},
    "picture": {"geometry"},
    "fit": {"words", "job", "picture", "design"},
    "carving": {"picture"},
    "sheets": {"picture"},
    "drawing": {"picture", "fit"},
    "files": {"picture", "design", "fit", "carving", "sheets"},
    "report": {"picture", "files"},
    "check": {"geometry", "picture", "design", "fit", "carving", "sheets", "drawing", "files", "report"},
    "cli": set(FLOORS) - {"words", "errors", "job", "make"},
    "__main__": set(FLOORS) - {"cli"},
}
"""Rooms that a room has no business with, though they lie below it."""

MOST_FOLDERS = 14
MOST_ARROWS = 75
MOST_LINES = 400
MOST_BODY_LINES = 45
MOST_MEDIAN_LINES = 8

LIBRARY_ROOMS = {
    "shapely": {"geometry", "check"},
    "svgwrite": {"files"},
    "reportlab": {"files"},
    "pypdf": {"check"},
    "ezdxf": {"files"},
    "PIL": {"picture"},
    "pillow_heif": {"picture"},
    "tifffile": {"picture"},
    "contourpy": {"design"},
    "argparse": {"cli"},
    "rectpack": {"sheets"},
    "jinja2": {"report"},
}


def room_of(path: Path) -> str:
    return path.relative_to(SOURCE).parts[0].removesuffix(".py")


@cache
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
FACES = sorted(SOURCE.rglob("*/__init__.py"))
NODES = [node for path in MODULES for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))]


def rooms_known_to(path: Path) -> set[str]:
    """Return the rooms that a file imports from, its own left out."""
    names = {name.split(".")[1] for name in imports(path) if name.startswith("shadowrout.")}
    return names - {"__version__", room_of(path)}


def may_know(room: str) -> set[str]:
    return set(FLOORS[: FLOORS.index(room)]) - CLOSED.get(room, set())


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_a_module_imports_only_rooms_it_may_know(path):
    assert rooms_known_to(path) <= may_know(room_of(path))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_a_library_is_known_only_to_its_rooms(path):
    for name in imports(path):
        allowed = LIBRARY_ROOMS.get(name.split(".")[0])
        assert allowed is None or room_of(path) in allowed, name


def test_rooms_are_few_and_arrows_too():
    assert {room_of(path) for path in MODULES} == set(FLOORS)
    assert len([path for path in SOURCE.iterdir() if (path / "__init__.py").exists()]) <= MOST_FOLDERS
    arrows = {(room_of(path), room) for path in MODULES for room in rooms_known_to(path)}
    assert len(arrows) <= MOST_ARROWS


def test_modules_of_a_room_import_each_other_in_no_circle():
    """Within the rooms, too, some order exists in which each module comes after all that it imports."""
    names = {module_name(path): path for path in MODULES}
    waiting = {name: modules_known_to(path, names) for name, path in names.items()}
    while free := [name for name, needed in waiting.items() if not needed]:
        waiting = {name: needed - set(free) for name, needed in waiting.items() if name not in free}
    assert not waiting


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(SOURCE).with_suffix("").parts).removesuffix(".__init__")


def modules_known_to(path: Path, names: dict[str, Path]) -> set[str]:
    found = {name.removeprefix("shadowrout.") for name in imports(path) if name.startswith("shadowrout.")}
    found |= {name.rpartition(".")[0] for name in found}
    return (found & names.keys()) - {module_name(path)}


def test_a_rooms_face_holds_words_and_no_logic():
    """An ``__init__`` says what its room is for; what it offers is imported from where it stands."""
    for path in FACES:
        (words,) = ast.parse(path.read_text(encoding="utf-8")).body
        assert isinstance(words, ast.Expr) and isinstance(words.value, ast.Constant), path


@pytest.mark.parametrize("face", FACES, ids=lambda face: str(face.parent.relative_to(SOURCE)))
def test_a_rooms_face_names_what_it_has_and_all_that_others_enter_it_by(face):
    """Whoever comes to a room finds in its face each module that is imported from outside it, and none that isn't."""
    words, room = face.read_text(encoding="utf-8"), face.parent
    has = {path.stem for path in room.glob("*.py")} | {path.parent.name for path in room.glob("*/__init__.py")}
    assert subjects(words) <= has
    names = {module_name(path): path for path in MODULES}
    entered = {names[name] for path in MODULES if room not in path.parents for name in modules_known_to(path, names)}
    entrances = {path.stem for path in entered if path.parent == room and path != face}
    assert sorted(name for name in entrances if f"``{name}``" not in words) == []


def subjects(words: str) -> set[str]:
    """Return the names that a face says something of: those that stand before a colon, one or several."""
    return {name for names in re.findall(r"((?:``\w+``(?:,\s+)?)+):", words) for name in re.findall(r"\w+", names)}


def test_the_front_door_imports_what_it_hands_on_and_acts_through_make():
    """What it offers to do stands in ``make``, but for the two writers; the rest are values, settings and errors."""
    imported = {name for name in imports(SOURCE / "__init__.pyi") if name.startswith("shadowrout.")}
    assert {name.rpartition(".")[2] for name in imported} == set(shadowrout.__all__)
    acting = {name for name in imported if name.rpartition(".")[2].islower()}
    assert {name for name in acting if name.split(".")[1] != "make"} == {
        "shadowrout.files.dxf.dxf_bytes",
        "shadowrout.files.svg.svg_bytes",
    }


def test_no_two_modules_have_one_name():
    names = [path.name for path in MODULES if path.name != "__init__.py"]
    assert sorted(set(names)) == sorted(names)


def test_no_two_classes_have_one_name():
    classes = [node.name for node in NODES if isinstance(node, ast.ClassDef)]
    assert sorted(set(classes)) == sorted(classes)


def test_modules_and_functions_fit_in_the_head():
    """At most 400 lines a module, at most 45 a function's body; the median function's is far below that."""
    assert [path for path in MODULES if len(path.read_text(encoding="utf-8").splitlines()) > MOST_LINES] == []
    functions = [node for node in NODES if isinstance(node, ast.FunctionDef)]
    lengths = {f"{node.name}, line {node.lineno}": body_lines(node) for node in functions}
    assert {name: length for name, length in lengths.items() if length > MOST_BODY_LINES} == {}
    assert statistics.median(body_lines(node) for node in functions) <= MOST_MEDIAN_LINES


def body_lines(function: ast.FunctionDef) -> int:
    """Return how many lines a function's body has, its docstring left out."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_the_walk_sees_a_forbidden_arrow(tmp_path):
    spoiled = tmp_path / "units.py"
    spoiled.write_text("def f():\n    from shadowrout.carving.plan import Plan\n    import ezdxf.units\n")
    assert imports(spoiled) == {"shadowrout.carving.plan.Plan", "ezdxf.units"}
