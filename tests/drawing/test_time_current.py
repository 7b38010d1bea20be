"""Curves: stepped at the standard's gates, every device named, nothing meets."""

import math
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from islewright import read_job, study
from islewright.drawing.bands import Band, cells
from islewright.drawing.time_current import (
    Chain,
    Current,
    Stop,
    chain_canvas,
    plot_of,
)
from islewright.papers import in_series
from islewright.tables import device
from tests.drawing.geometry import collisions

SVG = "{http://www.w3.org/2000/svg}"


def band(name, gates, *, residual=False):
    return Band(
        name=name,
        earliest=tuple((g.current_a, g.time_s) for g in gates.earliest),
        latest=tuple((g.current_a, g.time_s) for g in gates.latest),
        residual=residual,
    )


def breaker(curve, i_n):
    return band(f"{curve}{i_n}", device.mcb_gates(curve, i_n))


def fuse(i_n, name=""):
    return band(name or f"gG {i_n} A", device.fuse_gg_gates(i_n))


def rcd(kind, i_dn=0.03):
    return band(f"R1, {i_dn * 1000:.0f} mA {kind}", device.rcd_gates(i_dn, kind), residual=True)


def chain(bands, low, high, island, allowed=0.4, stop=None):
    currents = [Current(mode="grid mode", low_a=low, high_a=max(low, high))]
    if island:
        currents.append(Current(mode="island mode", low_a=island, high_a=island, limited=True))
    return Chain(title="x", bands=bands, currents=currents, allowed_s=allowed, stop=stop)


def drawn(band, told):
    """Whether a device has any area within the field at all."""
    plot = plot_of(told)
    return any(True for _ in cells(plot, band))


def texts(canvas):
    return [t.text for t in ET.fromstring(canvas.to_svg()).iter(f"{SVG}text")]


@pytest.mark.parametrize("amps", [15.0, 18.5, 24.0, 40.0, 100.0, 159.0, 161.0, 5000.0])
def test_a_band_gives_the_times_of_the_table(amps):
    """What is drawn is what the rules reckon with, at any current between gates."""
    assert breaker("C", 16).times_s(amps) == device.mcb_time_s("C", 16, amps)
    assert fuse(63).times_s(amps) == device.fuse_gg_time_s(63, amps)


@settings(max_examples=80, deadline=None)
@given(
    curve=st.sampled_from("BCD"),
    i_n=st.sampled_from([6, 10, 16, 20, 32]),
    feeder=st.sampled_from([None, 40, 50, 63]),
    main=st.sampled_from([63, 80, 100]),
    kind=st.sampled_from([None, "general", "S"]),
    low=st.floats(0.5, 2000),
    times=st.floats(1, 20),
    island=st.sampled_from([None, 9.0, 35.0, 80.0]),
    falls=st.floats(0.05, 10),
)
def test_nothing_meets_whatever_the_devices(
    curve, i_n, feeder, main, kind, low, times, island, falls
):
    """No text meets another or a line, and each device and mode is named once."""
    bands = [breaker(curve, i_n)]
    bands += [rcd(kind)] if kind else []
    bands += [fuse(feeder, "gG, grid side")] if feeder else []
    bands.append(fuse(main, "main fuse"))
    stop = Stop(at_a=island, earliest_s=falls / 2, latest_s=falls) if island else None
    told = chain(bands, low, low * times, island, stop=stop)
    canvas = chain_canvas(told)
    words = texts(canvas)

    assert collisions(canvas) == []
    assert [b.name for b in bands if drawn(b, told) and words.count(b.name) != 1] == []
    assert all(c.words in words for c in told.currents)
    assert "0.4 s allowed" in words


@pytest.mark.parametrize("name", ["cottage", "farmhouse", "terrace"])
def test_the_charts_of_the_examples_are_complete_and_clear(name):
    """Every circuit stands in one chart or is said to be left out; every device is named."""
    job = read_job(f"examples/{name}/{name}.yaml")
    told = in_series.chains(study(job))
    members = [name for chart in told["charts"] for name in chart["circuits"]]
    left = " ".join(row["places"] for row in told["left_out"])

    assert len(members) == len(set(members))
    assert [n for n in job.circuits if n not in members and n not in left] == []
    for chart in told["charts"]:
        words = [t.text for t in ET.fromstring(chart["svg"]).iter(f"{SVG}text")]
        assert [d for d in chart["devices"] if d not in words] == []
        assert chart["notes"]


def test_a_limited_current_is_told_as_at_most():
    """The inverter's limit is an upper bound."""
    words = texts(chain_canvas(chain([breaker("B", 16)], 100, 300, 35.0)))

    assert "island mode ≤ 35 A" in words
    assert "grid mode 100 to 300 A" in words


def test_modes_are_told_apart_without_colour():
    """Grid mode is drawn by whole lines under a filled head, island mode by dashes."""
    root = ET.fromstring(chain_canvas(chain([breaker("B", 16)], 100, 300, 35.0)).to_svg())
    groups = {g.get("id"): g for g in root.iter(f"{SVG}g")}
    dashes = {
        mode: {line.get("stroke-dasharray") for line in groups[mode].findall(f"{SVG}polyline")}
        for mode in ("grid-mode", "island-mode")
    }

    assert dashes["grid-mode"] == {None}
    assert dashes["island-mode"] != {None}


def test_a_time_that_is_not_known_draws_no_line():
    """Where no time is allowed by the table there is nothing to hold the devices against."""
    words = texts(chain_canvas(chain([breaker("B", 16)], 100, 300, None, allowed=math.nan)))

    assert not [w for w in words if "allowed" in w]


def test_numbers_are_run_together():
    """Circuits in a row are told from first to last."""
    assert in_series.ranges([9, 1, 2, 3, 7, 10]) == "1 to 3, 7, 9, 10"
