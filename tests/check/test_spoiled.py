"""The check is itself checked: each kind of damage must be found, and named by the promise it breaks."""

from __future__ import annotations

import shutil

import pytest
from spoil import DAMAGES
from spoil.folders import FOLDERS

from shadowrout.check.checking import check_folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return {name: write(tmp_path_factory.mktemp(name) / "out") for name, write in FOLDERS.items()}


@pytest.mark.parametrize("name", FOLDERS)
def test_a_whole_folder_keeps_its_promises(name, whole):
    verdict = check_folder(whole[name].parent)
    assert verdict.holds, verdict.as_text()


def test_there_are_damages_of_many_kinds():
    assert len({damage.name for damage in DAMAGES}) == len(DAMAGES) >= 25
    assert len({damage.promise for damage in DAMAGES}) >= 8


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.name)
def test_damage_is_found_and_named(damage, whole, tmp_path):
    place = whole[damage.whole]
    shutil.copytree(place.parent, tmp_path / "out")
    damage.spoil(tmp_path / "out" / place.name)
    verdict = check_folder(tmp_path / "out")
    result = verdict.plaques[0].result(damage.promise)
    told = [str(finding.what) for finding in result.findings]
    assert any(all(word in what for word in damage.words) for what in told), verdict.as_text()
    assert not result.holds
    assert not verdict.holds
