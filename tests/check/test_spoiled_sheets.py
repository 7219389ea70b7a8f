"""Damage to stencils, templates, register marks and the kerf test is found and named."""

from __future__ import annotations

import pytest
from spoil.folders import FOLDERS
from spoil.found import assert_found, damages_of

MODULES = ("sheets", "dowels", "rolled", "both_files", "grooves", "floors", "sheet_edges")
FOUND_HERE = damages_of("made", modules=MODULES)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return {name: FOLDERS[name](tmp_path_factory.mktemp(name) / "out") for name in ("made",)}


@pytest.mark.parametrize("damage", FOUND_HERE, ids=lambda damage: damage.name)
def test_damage_is_found_and_named(damage, whole, tmp_path):
    assert_found(damage, whole[damage.whole], tmp_path)
