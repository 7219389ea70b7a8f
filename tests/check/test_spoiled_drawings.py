"""Damage to drawings made by hand, and to pockets of two depths with flow lines, is found and named."""

from __future__ import annotations

import pytest
from spoil.folders import FOLDERS
from spoil.found import assert_found, damages_of

FOUND_HERE = damages_of("drawn", "floors")


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return {name: FOLDERS[name](tmp_path_factory.mktemp(name) / "out") for name in ("drawn", "floors")}


@pytest.mark.parametrize("damage", FOUND_HERE, ids=lambda damage: damage.name)
def test_damage_is_found_and_named(damage, whole, tmp_path):
    assert_found(damage, whole[damage.whole], tmp_path)
