"""Times of work as people write them."""

from __future__ import annotations

import pytest

from shadowrout.errors import SettingError
from shadowrout.job.duration import Duration, told_time
from shadowrout.job.options import Plaque
from shadowrout.job.shop import Shop

KIND = Duration(0.05, 1000)


@pytest.mark.parametrize(
    ("given", "hours"),
    [
        (3, 3),
        (2.5, 2.5),
        ("3", 3),
        ("3h", 3),
        ("3h20", 3 + 1 / 3),
        ("3 h 20 min", 3 + 1 / 3),
        ("3H05", 3 + 5 / 60),
        ("45min", 0.75),
        (" 90 min ", 1.5),
        ("1.5h", 1.5),
    ],
)
def test_a_time_is_hours_and_minutes(given, hours):
    assert KIND.read(given) == pytest.approx(hours, abs=1e-6)
    assert KIND.held(KIND.read(given)) == KIND.read(given)


@pytest.mark.parametrize(
    "given", ["", "h", "min", "3h75", "3:20", "three", "-1", "1min", "2000h", True, None, float("nan")]
)
def test_what_is_no_time_is_refused_with_what_is(given):
    with pytest.raises(ValueError, match=r"not a time|too short|too long|an hour"):
        KIND.read(given)


@pytest.mark.parametrize("hours", [0.05, 0.75, 3.0, 10 / 3, 3.3333, 12.125, 999.99])
def test_a_time_is_written_as_it_is_read(hours):
    kept = KIND.read(hours)
    text = KIND.write(kept)
    assert KIND.read(text.strip('"') if text.startswith('"') else float(text)) == kept


def test_a_time_in_minutes():
    assert [told_time(hours) for hours in (0.0, 1 / 60, 1.0, 2.05)] == ["0min", "1min", "1h", "2h03"]


def test_settings_take_a_time():
    assert Plaque(hours="3h30").hours == 3.5
    assert Shop(took="45min").took == 0.75
    with pytest.raises(SettingError, match=r"plaque\.hours: .*3h20 or 45min"):
        Plaque(hours="soon")
