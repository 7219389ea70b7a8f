"""What ``import shadowrout`` offers: all of it typed and told of, nothing loaded before it is used."""

from __future__ import annotations

import inspect
import json
import pydoc
import subprocess
import sys
from pathlib import Path

import pytest

import shadowrout

LOADED = "sorted({name.partition('.')[0] for name in sys.modules} - sys.stdlib_module_names - {'__main__'})"


def told_by(code: str) -> object:
    """Run lines in a process of their own that print one JSON value, and return it."""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_importing_it_loads_nothing_else():
    before = told_by(f"import json, sys; print(json.dumps({LOADED}))")
    code = "import json, sys, shadowrout; print(json.dumps([name for name in sys.modules if 'shadowrout.' in name]))"
    assert told_by(code) == []
    assert told_by(f"import json, sys, shadowrout; print(json.dumps({LOADED}))") == sorted([*before, "shadowrout"])


def test_a_job_and_its_errors_load_no_library():
    before = told_by(f"import json, sys; print(json.dumps({LOADED}))")
    lines = [
        "import json, sys, shadowrout",
        "job = shadowrout.Job(shadowrout.Picture('cat.jpg'), plaques=[shadowrout.Plaque(size='8x10in')])",
        "try: shadowrout.Cutter(-3)",
        "except shadowrout.SettingError: pass",
        f"print(json.dumps({LOADED}))",
    ]
    assert told_by("\n".join(lines)) == sorted([*before, "shadowrout"])


def test_the_test_sees_a_library_that_is_loaded():
    assert "numpy" in told_by(f"import json, sys, shadowrout; shadowrout.make; print(json.dumps({LOADED}))")


@pytest.mark.parametrize("name", shadowrout.__all__)
def test_each_name_is_there_and_told_of(name):
    offered = getattr(shadowrout, name)
    assert offered.__name__ == name
    assert inspect.isclass(offered) == (name[0].isupper())
    assert len(pydoc.getdoc(offered)) > 15
    assert name in dir(shadowrout)


@pytest.mark.parametrize("name", [name for name in shadowrout.__all__ if name.islower()])
def test_functions_are_typed_throughout(name):
    signature = inspect.signature(getattr(shadowrout, name))
    assert signature.return_annotation is not inspect.Signature.empty
    assert all(given.annotation is not inspect.Parameter.empty for given in signature.parameters.values())


def test_types_are_for_others_too():
    """A package that has types says so by this file (PEP 561)."""
    assert (Path(shadowrout.__file__).parent / "py.typed").is_file()


@pytest.mark.parametrize(
    "lines",
    [
        "import shadowrout",
        "import shadowrout.make.pipeline, shadowrout.check.checking",
        "from shadowrout.make import pipeline\nfrom shadowrout import check\nimport shadowrout",
    ],
)
def test_make_and_check_are_functions_whatever_was_loaded_before(lines):
    code = f"{lines}\nimport json, inspect\nnames = ('make', 'check', 'make', 'start')\n"
    asked = "print(json.dumps([inspect.isfunction(getattr(shadowrout, name)) for name in names]))"
    assert told_by(code + asked) == [True] * 4


def test_rooms_are_found_by_their_names_all_the_same():
    code = "import shadowrout; shadowrout.make\nfrom shadowrout.make import pipeline\n"
    code += "from shadowrout.check import distances\n"
    asked = "import json; print(json.dumps([pipeline.__name__, distances.__name__]))"
    assert told_by(code + asked) == ["shadowrout.make.pipeline", "shadowrout.check.distances"]


def test_what_is_not_offered_is_an_attribute_error():
    with pytest.raises(AttributeError, match="module 'shadowrout' has no attribute 'carve'"):
        _ = shadowrout.carve


def test_a_faulty_job_file_is_told_as_on_the_command_line(tmp_path):
    (tmp_path / "job.toml").write_text('[picture]\nfile = "cat.jpg"\n[tone]\ndark = 3\n', encoding="utf-8")
    with pytest.raises(shadowrout.SettingError, match="tone.dark: 3 can't be used"):
        shadowrout.Job.from_file(str(tmp_path / "job.toml"))
    with pytest.raises(shadowrout.InputError, match="there is no such file"):
        shadowrout.Job.from_file(tmp_path / "none.toml")


@pytest.mark.parametrize("step", [shadowrout.plaques_of, shadowrout.make, shadowrout.preview_tone])
def test_a_path_in_place_of_a_job_is_told_what_to_do(step, tmp_path):
    places = () if step is shadowrout.plaques_of else (tmp_path / "out.png",)
    with pytest.raises(TypeError, match=r"expected a Job, received 'rex.toml'; Job.from_file reads a job file"):
        step("rex.toml", *places)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["a\0b", "half \ud800"])
def test_a_folder_that_no_path_can_name_is_refused(name, tmp_path):
    with pytest.raises(shadowrout.SettingError, match="no path can; name another folder") as refused:
        shadowrout.make(shadowrout.Job(shadowrout.Picture("cat.jpg")), tmp_path / name)
    assert refused.value.key == "--out"


@pytest.mark.parametrize("version", ["R13", "r12", None])
def test_a_version_of_dxf_that_is_not_written_is_named(version):
    drawing = shadowrout.Drawing("plaque", "", (0, 0, 60, 45), ())
    with pytest.raises(ValueError, match="expected a version of R2010, R2000, R12, received"):
        shadowrout.dxf_bytes(drawing, version=version)
