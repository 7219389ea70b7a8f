"""The check is itself checked: whole folders keep their promises, and damages of many kinds are tried on them."""

from __future__ import annotations

import pytest
import test_spoiled_drawings
import test_spoiled_papers
import test_spoiled_sheets
from spoil import DAMAGES
from spoil.folders import FOLDERS

from shadowrout.check.checking import check_folder


@pytest.mark.parametrize("name", FOLDERS)
def test_a_whole_folder_keeps_its_promises(name, tmp_path):
    verdict = check_folder(FOLDERS[name](tmp_path / "out").parent)
    assert verdict.holds, verdict.as_text()


def test_there_are_damages_of_many_kinds():
    assert len({damage.name for damage in DAMAGES}) == len(DAMAGES) >= 150
    assert len({damage.promise for damage in DAMAGES}) >= 8


def test_each_damage_is_tried_once():
    tried = [d for tests in (test_spoiled_drawings, test_spoiled_sheets, test_spoiled_papers) for d in tests.FOUND_HERE]
    assert sorted(damage.name for damage in tried) == sorted(damage.name for damage in DAMAGES)
