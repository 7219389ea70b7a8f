"""Files that aren't as they were made are named; whether promises hold is judged by what stands in them alone."""

from __future__ import annotations

import copy
import json
import math
import shutil

import pytest
from check_plaque import NAME, write_folder

from shadowrout.check import contradictions
from shadowrout.check.checking import check_folder
from shadowrout.check.findings import Promise
from shadowrout.check.folder import read_folder, read_plaque
from shadowrout.check.jobsheet_reader import JobSheet, read_job_sheet
from shadowrout.check.written_lengths import agree
from shadowrout.cli import main
from shadowrout.words.wording import Words


@pytest.fixture
def out(tmp_path):
    write_folder(tmp_path / "out")
    return tmp_path / "out"


def test_nothing_is_changed_in_a_folder_as_made(out):
    assert check_folder(out).changed == ()
    assert "CHANGED" not in check_folder(out).as_text()


def test_an_edit_that_keeps_the_promises_is_named_and_no_failure(out, capsys):
    """A comment is no part of a drawing (XML 1.0, 2.5)."""
    path = out / NAME / "carve.svg"
    path.write_text(path.read_text(encoding="utf-8") + "<!-- checked by hand -->\n", encoding="utf-8")
    assert main(["check", str(out), "--workers", "1"]) == 0
    *_, changed, last = capsys.readouterr().out.strip().split("\n\n")
    assert changed.startswith(f"CHANGED since it was made: {NAME}/carve.svg; still holds for what stands in it: ")
    assert "no gouge" in changed
    assert last.startswith("All promises hold")
    assert main(["check", str(out), "--workers", "1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["holds"] is True
    (file,) = told["changed"]
    assert (file["file"], file["bytes"] - file["bytes_made"], file["broken"]) == (f"{NAME}/carve.svg", 25, [])
    assert {str(Promise.NO_GOUGE), str(Promise.TRUE_SIZE), str(Promise.COMPLETE)} <= set(file["holds"])
    assert str(Promise.ONE_PIECE) not in file["holds"]


def test_an_edit_that_breaks_a_promise_is_named_with_the_others_that_hold(out, capsys):
    path = out / NAME / "carve.svg"
    path.write_text(path.read_text(encoding="utf-8").replace('width="120mm"', 'width="121mm"'), encoding="utf-8")
    assert main(["check", str(out), "--workers", "1"]) == 4
    (file,) = check_folder(out).changed
    assert str(Promise.TRUE_SIZE) in file.broken
    assert str(Promise.STAYS_DARK) in file.holds


def test_digests_stand_in_for_no_judging(out):
    """Whoever writes the new digest into numbers.json, too, hides the change and no fault."""
    path, numbers = out / NAME / "carve.dxf", out / "numbers.json"
    told = json.loads(numbers.read_text(encoding="utf-8"))
    path.unlink()
    shutil.copy(out / NAME / "carve.svg", path)
    numbers.write_text(json.dumps(told), encoding="utf-8")
    verdict = check_folder(out)
    assert [file.file for file in verdict.changed] == [f"{NAME}/carve.dxf"]
    assert not verdict.holds


@pytest.mark.parametrize("name", ["job.toml", "jobsheet.html", f"{NAME}/design.wkb.gz"])
def test_every_file_is_listed(name, out):
    with (out / name).open("ab") as file:
        file.write(b"\n")
    assert [file.file for file in check_folder(out).changed] == [name]


def test_a_missing_file_is_a_finding_and_not_changed(out):
    (out / "jobsheet.html").unlink()
    verdict = check_folder(out)
    assert verdict.changed == ()
    assert verdict.plaques[0].result(Promise.COMPLETE).holds is False


WRONG = (None, True, "x", -7, 1e300, 10**400, math.nan, [], {}, [[1]], {"a": 1})
"""What may stand in JSON in place of a figure."""


def places(told, path=()):
    """Yield the path of each value in a tree of JSON, of long lists those of the first two entries."""
    if path:
        yield path
    inner = told.items() if isinstance(told, dict) else enumerate(told[:2]) if isinstance(told, list) else ()
    for key, value in inner:
        yield from places(value, (*path, key))


def test_a_value_of_another_type_is_a_finding_whatever_figure_it_is(out):
    """It is one as the figures are read, or where they are held against the drawings; the whole file may be refused."""
    sheet, whole = read_job_sheet(out / "jobsheet.html"), json.loads((out / "numbers.json").read_text())
    tried = list(places(whole))
    assert len(tried) > 100
    for number, path in enumerate(tried):
        for wrong in (WRONG[number % len(WRONG)], WRONG[(number * 5 + 3) % len(WRONG)]):
            figures = copy.deepcopy(whole)
            part = figures
            for key in path[:-1]:
                part = part[key]
            if type(part[path[-1]]) is type(wrong) and not isinstance(wrong, (int, float)):
                continue
            part[path[-1]] = wrong
            (out / "numbers.json").write_text(json.dumps(figures))
            folder = read_folder(out)
            if folder.faults or any(folder.faults_of.values()) or isinstance(wrong, (int, float)):
                continue
            plaque = read_plaque(out, folder, folder.job.plaques[0])
            assert plaque.faults or any(contradictions.compared(plaque, folder.figures, sheet)), (path, wrong)


class TestJobSheetText:
    @pytest.mark.parametrize("unit", ["mm", "in"])
    @pytest.mark.parametrize("length", [0.0, 0.2, 3.0, 3.175, 18.0, 19.05, 146.4, 215.9])
    def test_lengths_are_read_as_they_are_written(self, unit, length):
        words = Words(unit)
        for told in (words.length(length), words.depth(length), words.short(length), words.most(length)):
            assert agree(told, [length])
            assert not agree(told, [length + 0.6])
        assert agree(words.size((length, 254.0)), [length, 254.0])
        assert agree(words.span(1.0, 2.0 + length), [1.0, 2.0 + length])

    def test_a_length_too_many_or_too_few(self):
        assert not agree("3.00 mm, then 4.00 mm", [3.0])
        assert not agree("3.00 mm", [3.0, 4.0])
        assert not agree("deep", [3.0])

    @pytest.mark.parametrize("piece", ["<!--", "<", "<a ", "<table>", "</", "&", "<td", "<!", '<p a="'])
    def test_a_sheet_of_nothing_but_beginnings_is_read_in_time(self, piece, tmp_path):
        path = tmp_path / "jobsheet.html"
        path.write_text(piece * (400_000 // len(piece)) + "</html>", encoding="utf-8")
        assert isinstance(read_job_sheet(path), JobSheet)
