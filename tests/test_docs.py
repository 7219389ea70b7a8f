"""The pages that are made from the code, or that tell what the code does, are current."""

from __future__ import annotations

import doctest
import re
import runpy
import shutil
from pathlib import Path

from shadowrout.drawing.shapes import Role
from shadowrout.job import job_file
from shadowrout.job.reference import page
from shadowrout.words.cautions import CAUTIONS

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "shadowrout"


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def test_the_job_file_reference_is_current():
    assert text_of("docs/job-file.md") == page(), "python -m shadowrout.job.reference > docs/job-file.md"


def test_the_job_file_of_the_reference_is_one():
    """The indented lines are Markdown's code block (CommonMark 0.31.2, section 4.4)."""
    block = "\n".join(line.removeprefix("    ") for line in page().splitlines() if line.startswith("    "))
    job = job_file.from_text(block, name="job.toml")
    assert [plaque.name for plaque in job.plaques] == ["mantel", "desk"]
    assert job.plaques[1].size == (127.0, 177.8)
    assert [cutter.diameter for cutter in job.cutters] == [6.0, 3.0]
    assert "stencil" in job.output.files


def test_the_readme_carries_every_caution():
    told = " ".join(text_of("README.md").split())
    assert [caution for caution in CAUTIONS if caution not in told] == []


def test_ci_runs_the_readmes_test_command():
    (command,) = re.findall(r"^    (python3 -m venv .*pytest)$", text_of("README.md"), flags=re.MULTILINE)
    assert command in text_of(".ci/run").splitlines()


def test_the_files_reference_names_every_role():
    told = text_of("docs/files.md")
    assert [role for role in Role if f"`{role}`" not in told] == []


def test_the_map_for_developers_has_a_row_for_every_room():
    rooms = {p.stem for p in SOURCE.glob("*.py")} | {p.parent.name for p in SOURCE.glob("*/__init__.py")}
    rows = "\n".join(line for line in text_of("DEVELOPERS.md").splitlines() if line.startswith("| "))
    assert sorted(room for room in rooms if f"`{room}`" not in rows) == ["__init__", "__main__"]


def test_the_examples_for_programs_run_as_they_stand(tmp_path, monkeypatch):
    shutil.copy(ROOT / "examples" / "winter-fair" / "chelsea.png", tmp_path)
    monkeypatch.chdir(tmp_path)
    told: list[str] = []
    runner = doctest.DocTestRunner(verbose=False)
    page_test = doctest.DocTestParser().get_doctest(text_of("docs/python.md"), {}, "python.md", "docs/python.md", 0)
    runner.run(page_test, out=told.append)
    assert runner.failures == 0, "".join(told)
    assert runner.tries > 20


def test_the_example_of_three_sizes_tells_them_apart(tmp_path, capsys):
    """Two boards, smaller than the example's own, so that it doesn't take long."""
    example = runpy.run_path(str(ROOT / "examples" / "three_sizes.py"))
    example["SIZES_MM"] |= {"small": (45, 40), "middle": (60, 45)}
    del example["SIZES_MM"]["large"]
    example["main"](ROOT / "examples" / "winter-fair" / "chelsea.png", tmp_path / "out")
    heading, *rows = capsys.readouterr().out.splitlines()
    assert heading.split() == ["plaque", "dark", "pockets", "V", "lines", "hours"]
    (small, few, *_), (middle, many, *_) = [(row.split()[0], int(row.split()[3])) for row in rows]
    assert (small, middle) == ("small", "middle")
    assert 0 < few < many


def test_links_between_pages_lead_somewhere():
    for page_path in [*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), *ROOT.glob("examples/*.md")]:
        for target in re.findall(r"\]\(([^)#:]+)\)", page_path.read_text(encoding="utf-8")):
            assert (page_path.parent / target).exists(), f"{page_path.name}: {target}"
