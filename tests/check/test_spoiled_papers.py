"""Damage to patterns, pictures, figures and job sheets is found and named."""

from __future__ import annotations

import pytest
from spoil.folders import FOLDERS
from spoil.found import assert_found, damages_of

MODULES = ("pattern", "pictures", "figures_on_sheet", "figures_altered")
FOUND_HERE = damages_of("made", "sheets", modules=MODULES)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return {name: FOLDERS[name](tmp_path_factory.mktemp(name) / "out") for name in ("made", "sheets")}


@pytest.mark.parametrize("damage", FOUND_HERE, ids=lambda damage: damage.name)
def test_damage_is_found_and_named(damage, whole, tmp_path):
    assert_found(damage, whole[damage.whole], tmp_path)
