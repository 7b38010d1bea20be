"""The inverter's limit in every fault, against fixed points found by other ways.

For every form of output: the examples have three phases with neutral, one phase, bridged lines
and split phase; single units on three phases and one unit on one of three are variants.
"""

from __future__ import annotations

import typing
from functools import cache

import numpy as np
import pytest

from islewright.job.equipment import Inverter
from islewright.network.limit import ALL_TOGETHER, EACH_BY_ITSELF, limit_scale
from tests.engines.faults import JOINT_OHM, OurFaults, Worst, compare_one, faults_of
from tests.engines.fixed_point import Poles, all_together, each_by_itself, plain_rounds
from tests.engines.house import NAMES
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting
from tests.engines.variants import OUTPUTS, house_of

ISLAND = Setting(state="island, on the battery")
#: a pole that stuck on a live public supply: the inverter is not the only EMF
WELDED = Setting(state="island, public supply back", closed=frozenset({"islanding switch L1"}))
#: two of them, so that two EMFs work against another one
TWO_WELDED = Setting(
    state="island, public supply back",
    closed=frozenset({"islanding switch L1", "islanding switch N"}),
)
SETTINGS = {
    "island": ISLAND,
    "pole welded on a live supply": WELDED,
    "line and neutral welded on a live supply": TWO_WELDED,
}
WAYS = {ALL_TOGETHER: all_together, EACH_BY_ITSELF: each_by_itself}
STOP = 1e-3  # of the limit: where plain rounds are let be
GIVEN = 1e-6


def test_every_form_of_output_takes_part():
    """And both ways to limit have several EMFs to share between."""
    every = set(typing.get_args(Inverter.model_fields["output"].annotation))
    taken = {house_of(name).job.inverter.output for name in (*NAMES, *OUTPUTS)}
    assert len(every) == 5
    assert taken == every


@cache
def poles_of(house, name: str):
    """OpenDSS's pole currents per EMF in every fault, and the limit of each fault."""
    setting = SETTINGS[name]
    faults = faults_of(house.elements_in(setting, "hot"), house.job)
    amps = house.job.inverter.fault_current
    limits = [
        float(amps.to_earth_a if f.name.kind.endswith("PE") else amps.between_lines_a)
        for f in faults
    ]
    return faults, np.array(limits), Poles(house, setting, "hot", faults)


def ours_of(house, setting: Setting, faults, limits, how: str):
    """The engine's factors in the order of `faults`, and its faults."""
    ours = OurFaults(house, setting, "hot", JOINT_OHM)
    by_name = dict(zip((f.name for f in faults), limits, strict=True))
    scale = {}
    for batch in ours.batches:
        limit = np.array([by_name[name] for name in batch.ports.names])
        scale |= dict(zip(batch.ports.names, limit_scale(batch, limit, how), strict=True))
    branches = ours.solved.parts.branches
    names = [branches[s].name for s in ours.solved.sources]
    return ours, names, np.array([scale[f.name] for f in faults])


@pytest.mark.parametrize("how", WAYS)
@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("house", [*NAMES, *OUTPUTS], indirect=True)
def test_factors_are_those_of_a_bisection(house, name, how):
    """Every fault's factors agree within 1e-6, and no pole exceeds its limit unforced."""
    faults, limits, poles = poles_of(house, name)
    _, names, scale = ours_of(house, SETTINGS[name], faults, limits, how)
    order = [names.index(n) for n in poles.names]
    theirs = np.array(
        [WAYS[how](a, poles.mine, limit) for a, limit in zip(poles.amps, limits, strict=True)]
    )
    assert (theirs[:, poles.mine] < 1).any()
    off = np.abs(scale[:, order] - theirs).max(axis=1)
    wrong = [
        f"{faults[i].name} {scale[i, order]} {theirs[i]}" for i in np.flatnonzero(~(off < GIVEN))
    ]
    assert not wrong, wrong[:5]


@pytest.mark.parametrize("house", [*NAMES, *OUTPUTS], indirect=True)
def test_each_phase_by_itself_is_where_plain_rounds_come_to_rest(house):
    """Factors within the stop for one line, currents alone for faults between lines."""
    faults, limits, poles = poles_of(house, "island")
    _, names, scale = ours_of(house, ISLAND, faults, limits, EACH_BY_ITSELF)
    mine = [names.index(poles.names[i]) for i in poles.mine]
    square = poles.amps[:, :, poles.mine]
    rest = plain_rounds(square, limits)
    flows = [np.abs(np.einsum("fke,fe->fk", square, s)) for s in (scale[:, mine], rest)]
    assert np.abs(flows[0] - flows[1]).max() < STOP * limits.max()
    one_line = [i for i, f in enumerate(faults) if f.name.kind.count("L") == 1]
    assert len(one_line) > 20
    assert np.abs(scale[one_line][:, mine] - rest[one_line]).max() < STOP


@pytest.mark.parametrize("how", WAYS)
@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("house", [*NAMES, *OUTPUTS], indirect=True)
def test_at_the_limit_everything_agrees(house, name, how):
    """OpenDSS with its EMFs scaled from outside: all voltages and currents within 1e-6."""
    faults, limits, _ = poles_of(house, name)
    setting = SETTINGS[name]
    ours, names, scale = ours_of(house, setting, faults, limits, how)
    circuit = Circuit(house.elements_in(setting, "hot"), house.hertz)
    worst = Worst()
    for i in range(0, len(faults), max(1, len(faults) // 60)):
        circuit.scale(dict(zip(names, scale[i], strict=True)))
        compare_one(house, circuit, ours, faults[i], worst, scale[i])
    assert worst.count >= 40
    assert worst.volts < GIVEN, worst
    assert worst.amps < GIVEN, worst
