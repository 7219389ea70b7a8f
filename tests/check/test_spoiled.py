"""The check is itself checked: each kind of damage must be found, and named by the promise it breaks."""

from __future__ import annotations

import shutil

import pytest
from check_plaque import write_folder
from spoil import DAMAGES

from shadowrout.check.checking import check_folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return write_folder(tmp_path_factory.mktemp("whole"))


def test_there_are_damages_of_many_kinds():
    assert len({damage.name for damage in DAMAGES}) == len(DAMAGES) >= 25
    assert len({damage.promise for damage in DAMAGES}) >= 8


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.name)
def test_damage_is_found_and_named(damage, whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    damage.spoil(tmp_path / "out" / whole.name)
    verdict = check_folder(tmp_path / "out")
    result = verdict.plaques[0].result(damage.promise)
    told = [str(finding.what) for finding in result.findings]
    assert any(all(word in what for word in damage.words) for what in told), verdict.as_text()
    assert not result.holds
    assert not verdict.holds
