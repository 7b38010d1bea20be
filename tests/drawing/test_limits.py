"""Charts of touch voltage and of the inverter's limits: to scale, named, nothing meets."""

import itertools
import math
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from islewright import read_job, study
from islewright.drawing.power_time import Gives, Starting, power_canvas
from islewright.drawing.touch_time import Limit, Touch, touch_canvas
from islewright.papers import limits
from islewright.tables.limits import touch_limits, touch_time_s
from tests.drawing.geometry import collisions

SVG = "{http://www.w3.org/2000/svg}"
DRY = Limit(name="allowed, dry", rows=touch_limits("dry"))
WET = Limit(name="allowed, wet", rows=touch_limits("wet"))


def texts(svg):
    return [t.text for t in ET.fromstring(svg).iter(f"{SVG}text")]


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.booleans(), st.floats(0.5, 400), st.floats(0.01, 60)), min_size=1, max_size=90
    )
)
def test_dots_and_names_never_hide_each_other(found):
    """However many circuits there are, no text meets another, and none leaves the sheet."""
    touches = [
        Touch(name=str(n), mode="grid mode" if grid else "island mode", volts=v, gone_s=s)
        for n, (grid, v, s) in enumerate(found, 1)
    ]
    canvas = touch_canvas([DRY, WET], touches)

    assert collisions(canvas) == []
    assert sum(1 for _ in ET.fromstring(canvas.to_svg()).iter(f"{SVG}circle")) == len(touches) + 2


def test_the_steps_are_those_of_the_table():
    """A voltage between two rows is held to the time of the higher one."""
    assert touch_limits("dry")[0] == (50, 5)
    for volts, time_s in touch_limits("dry")[1:]:
        assert float(touch_time_s(volts - 1)) == time_s


@settings(max_examples=40, deadline=None)
@given(
    rated=st.floats(800, 30000),
    times=st.floats(1, 3),
    running=st.floats(50, 40000),
    starts=st.lists(st.tuples(st.floats(100, 60000), st.floats(0.1, 20)), max_size=6),
)
def test_limits_and_starts_never_hide_each_other(rated, times, running, starts):
    """No text meets another, whatever runs and starts."""
    gives = [
        Gives(name="for good", va=rated, for_s=math.inf),
        Gives(name="surge", va=rated * times, for_s=5.0),
    ]
    told = [Starting(name=f"pump {n}", va=va, lasts_s=s) for n, (va, s) in enumerate(starts)]
    canvas = power_canvas("all", gives, running, told)

    assert collisions(canvas) == []


@pytest.mark.parametrize("name", ["cottage", "farmhouse", "terrace"])
def test_the_examples_are_drawn(name):
    """Every circuit with a fault that can be followed has its dot; both charts are there."""
    of = study(read_job(f"examples/{name}/{name}.yaml"))
    told = limits.limits(of)

    assert told["touch"].startswith("<svg")
    assert told["power"]
    assert "running, at the demand" in texts(told["power"][0]["svg"])


def test_a_fault_that_stays_is_named():
    """The trough heating of the farmhouse opens after 60 s at the latest: off the chart."""
    of = study(read_job("examples/farmhouse/farmhouse.yaml"))

    assert "17 trough heating (grid mode" in limits.limits(of)["longest"]


def test_an_unknown_demand_leaves_the_inverter_undrawn(tmp_path):
    """What is not known is asked for, and no line is drawn from a guess."""
    from pathlib import Path

    folder = Path("examples/farmhouse")
    text = (folder / "farmhouse.yaml").read_text(encoding="utf-8")
    (tmp_path / "equipment.yaml").write_text(
        (folder / "equipment.yaml").read_text("utf-8"), "utf-8"
    )
    (tmp_path / "h.yaml").write_text(text.replace("power: 2.2 kW", "power: unknown"), "utf-8")
    told = limits.limits(study(read_job(tmp_path / "h.yaml")))

    assert told["power"] == []
    assert "What power does it draw?" in told["power_missing"]


def test_every_start_is_named_and_led_to_its_bar():
    """Five starts lie close together; each name has a line of its own, in the bars' order."""
    gives = [Gives(name="for good", va=12000.0, for_s=math.inf)]
    told = [Starting(name=f"pump {n}", va=7000.0 - 150 * n, lasts_s=0.5) for n in range(5)]
    canvas = power_canvas("all", gives, 4400.0, told)
    root = ET.fromstring(canvas.to_svg())
    heights = [float(t.get("y")) for t in root.iter(f"{SVG}text") if t.text.startswith("pump")]
    led = [g for g in root.iter(f"{SVG}g") if (g.findtext(f"{SVG}title") or "").startswith("pump")]

    assert heights == sorted(heights)
    assert len(heights) == 5
    assert len(led) >= 5
    assert min(b - a for a, b in itertools.pairwise(heights)) > 3.0


def test_a_start_just_above_what_runs_keeps_its_name():
    """The names above move up for it, as under the dust extractor of the workshop."""
    gives = [Gives(name="for good", va=20000.0, for_s=math.inf)]
    told = [
        Starting(name="extractor", va=17900.0, lasts_s=2.0),
        Starting(name="fridge", va=4700.0, lasts_s=0.5),
        Starting(name="heating", va=3340.0, lasts_s=1.0),
    ]
    canvas = power_canvas("all", gives, 3100.0, told)
    names = [t.text for t in ET.fromstring(canvas.to_svg()).iter(f"{SVG}text")]

    assert {"extractor", "fridge", "heating"} <= set(names)
    assert collisions(canvas) == []
