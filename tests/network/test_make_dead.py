"""The order in which a house is made dead, and what is alive after each step."""

import shutil
from pathlib import Path

import pytest

from islewright import read_job, study
from islewright.network.make_dead import (
    DC_SIDE,
    DC_SOURCES,
    GENERATOR,
    steps_to_dead,
    supply_isolators,
)

ROOT = Path(__file__).resolve().parents[2]
HOUSES = ("cottage", "farmhouse", "terrace")


def steps_of(folder, house, change):
    """Steps for an example whose job file was changed."""
    example = ROOT / "examples" / house
    shutil.copy(example / "equipment.yaml", folder)
    text = (example / f"{house}.yaml").read_text("utf-8")
    (folder / f"{house}.yaml").write_text(change(text), "utf-8")
    of = study(read_job(folder / f"{house}.yaml"))
    return steps_to_dead(of.job, of.net)


@pytest.fixture(scope="module", params=HOUSES)
def walked(request):
    of = study(read_job(ROOT / "examples" / request.param / f"{request.param}.yaml"))
    return of.job, steps_to_dead(of.job, of.net)


def test_the_island_is_taken_away_before_the_grid_is_opened(walked):
    """Stop the inverter, part it, then its d.c. sources, and only then the public supply."""
    job, steps = walked
    orders = [step.what for step in steps]
    grid = [orders.index(what) for what, _group, _remark in supply_isolators(job)]

    assert steps[1].does == "stop"
    assert "inverter" in steps[2].what
    assert orders.index("the battery's switch") < min(grid)
    assert [step.does for step in steps[-2:]] == ["wait", "prove"]
    assert max(grid) < len(steps) - 2


def test_every_board_is_alive_before_and_dead_after(walked):
    """All boards are alive as found; once everything is open none is."""
    job, steps = walked

    assert {steps[0].left[board] for board in job.boards} == {"alive"}
    assert {steps[-1].left[board] for board in job.boards} == {"dead"}


def test_what_no_step_can_reach_stays_alive(walked):
    """The service cable and the cables of battery and panels are alive to the end."""
    _job, steps = walked

    assert {step.left["service"] for step in steps} == {"alive"}
    assert {step.left[DC_SOURCES] for step in steps} == {"alive"}


def test_the_inverter_counts_as_alive_until_it_has_emptied_itself(walked):
    """Stopped and parted it still holds a charge; dead comes after the wait alone."""
    _job, steps = walked
    for step in steps[:-2]:
        assert step.left["inverter"] != "dead"
        assert step.left[DC_SIDE] != "dead"

    assert steps[-1].left["inverter"] == "dead"


def test_a_battery_that_is_not_stated_to_isolate_leaves_its_side_alive(tmp_path):
    """Nobody may call the d.c. side dead behind a switch that is made for something else."""
    text = (ROOT / "examples" / "farmhouse" / "farmhouse.yaml").read_text(encoding="utf-8")
    shelf = (ROOT / "examples" / "farmhouse" / "equipment.yaml").read_text(encoding="utf-8")
    head, tail = shelf.split("house battery 15 kWh:")
    doubtful = tail.replace("isolates: suitable for isolation", "isolates: not suitable", 1)
    (tmp_path / "equipment.yaml").write_text(f"{head}house battery 15 kWh:{doubtful}", "utf-8")
    (tmp_path / "house.yaml").write_text(text, "utf-8")
    of = study(read_job(tmp_path / "house.yaml"))
    steps = steps_to_dead(of.job, of.net)

    assert steps[-1].left[DC_SIDE] == "treat"
    assert any("not stated to isolate" in step.remark for step in steps)


@pytest.mark.parametrize(("pins", "left"), [("dead", "dead"), ("can be live", "alive")])
def test_an_inlet_is_dead_without_its_plug_unless_the_house_can_feed_its_pins(tmp_path, pins, left):
    """Pulled before the supply is opened, live pins would still hang on the living board."""
    stated = f"pins without plug: {pins}"
    steps = steps_of(
        tmp_path, "cabin", lambda text: text.replace("pins without plug: dead", stated)
    )
    (unplugged,) = [step for step in steps if step.does == "unplug"]

    assert steps[0].left[GENERATOR] == "treat"
    assert unplugged.left[GENERATOR] == left
    assert steps[-1].left[GENERATOR] == "dead"


def test_a_generator_that_nobody_asked_about_counts_as_there(tmp_path):
    """Left out is not none: the sheet has it looked for."""

    def without(text):
        lines = text.splitlines(keepends=True)
        return "".join(line for line in lines if not line.startswith("generator inlet"))

    steps = steps_of(tmp_path, "cottage", without)
    (asked,) = [step for step in steps if step.does == "unplug"]

    assert asked.remark == "whether there is one is not known"
