"""What a study holds goes with it: nothing is left in circles for the collector to find."""

import gc
from pathlib import Path

import pytest

from islewright.collector import collector_paused
from islewright.job import read_job
from islewright.rules.study import study

EXAMPLES = Path(__file__).parents[2] / "examples"
HOUSES = sorted(folder.name for folder in EXAMPLES.iterdir() if folder.is_dir())


def left_over(house: str, profile: str) -> int:
    """Objects that only the collector can free after a study was read, judged and let go."""
    file = EXAMPLES / house / f"{house}.yaml"
    study(read_job(file), profile_name=profile).findings  # noqa: B018 - warms tables and caches
    gc.collect()
    gc.disable()
    try:
        found = study(read_job(file), profile_name=profile)
        assert found.findings
        del found
        return gc.collect()
    finally:
        gc.enable()


@pytest.mark.parametrize("profile", ["IEC base", "GB"])
@pytest.mark.parametrize("house", HOUSES)
def test_a_study_leaves_nothing_to_the_collector(house, profile):
    """So it may be held off while a study is made, and memory comes back at once."""
    assert left_over(house, profile) == 0


def test_the_collector_runs_again_afterwards():
    """Also where the work fails; and one that was off before stays off."""
    assert gc.isenabled()
    with collector_paused():
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(ValueError, match="stop"), collector_paused():
        raise ValueError("stop")
    assert gc.isenabled()
    gc.disable()
    try:
        with collector_paused():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()
