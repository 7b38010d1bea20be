"""What must hold in any network: power, reciprocity, symmetry, order, monotony."""

import cmath
import math
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from islewright.job import read_job
from islewright.network.loads import LoadFlow
from islewright.network.parts import EARTH, NODE_LEAK_S
from islewright.network.solve import Network
from islewright.network.state import GRID, GRID_FEEDING, ISLAND, ISLAND_GRID_BACK
from tests.network.examples import NAMES, network
from tests.network.probe import fault, loop_ohm
from tests.network.small import (
    ONE_PHASE_PEN,
    THREE_PHASES,
    job_of,
    network_of,
    parts_of,
    written,
)

STATES = [GRID, ISLAND]
TURNED = {"L1": "L2", "L2": "L3", "L3": "L1"}


def on_line(line: str) -> tuple[str, str]:
    """Every circuit on another line."""
    text = "lines: L1, cores: L1 N PE"
    return text, text.replace("L1", line)


@pytest.mark.parametrize("state", [*STATES, GRID_FEEDING, ISLAND_GRID_BACK], ids=lambda s: s.name)
def test_power_of_sources_is_power_of_loads_and_losses(tmp_path, state):
    """Active and reactive, summed element by element."""
    job = job_of(tmp_path, THREE_PHASES, ("filter to earth: none", "filter to earth: 100 nF"))
    solved = Network(parts_of(job)).solved(state)
    flow = LoadFlow(job, solved, {"heater": 10.0, "lamps": 3.0})
    parts, x = solved.parts, flow.x
    volts = np.append(x[: len(parts.nodes)], 0)

    def taken(a: int, b: int, siemens: complex) -> complex:
        return abs(volts[a] - volts[b]) ** 2 * np.conj(siemens)

    spent = sum(taken(c.a, c.b, 1 / c.z_hot) for c in parts.cores)
    spent += sum(taken(c.a, c.b, 1j * solved.layout.omega * c.farad) for c in parts.capacities)
    spent += sum(taken(n, EARTH, NODE_LEAK_S) for n in range(len(parts.nodes)))
    given_ = 0j
    for i, branch in enumerate(parts.branches):
        amps = x[len(parts.nodes) + i]
        spent += abs(amps) ** 2 * branch.z_hot
        given_ += branch.emf * np.conj(amps)
    if state.inverter == "feeding":
        given_ += sum((volts[f.b] - volts[f.a]) * np.conj(f.amps) for f in parts.feeds)
    for stub in parts.stubs:  # each circuit with its loads, as its bars see it
        near = flow.near_currents(stub.circuit)
        spent += sum(
            volts[node] * np.conj(near[c])
            for c, node in zip(stub.conductors, stub.nodes, strict=True)
        )
    assert spent == pytest.approx(given_, rel=1e-9)
    assert given_.real > 2000


def test_a_circuit_loses_the_square_of_its_current(tmp_path):
    """10 A through 20 m of 2.5 mm² there and back at 70 °C: 35.5 W, no more and no less."""
    job = job_of(tmp_path, ONE_PHASE_PEN)
    solved = Network(parts_of(job)).solved(GRID)
    flow = LoadFlow(job, solved, {"heater": 10.0})
    near, far = flow.near_currents("heater"), flow.far("heater")
    stub = next(s for s in solved.parts.stubs if s.circuit == "heater")

    power_in = sum(
        flow.x[node] * np.conj(near[c]) for c, node in zip(stub.conductors, stub.nodes, strict=True)
    )
    load = (far["L1"] - far["N"]) * np.conj(cmath.rect(10.0, cmath.phase(solved.x[stub.nodes[0]])))
    cores = 2 * 20 * 7.41e-3 * (1 + 0.00393 * 50)
    assert (power_in - load).real == pytest.approx(100 * (cores + 2e-4), rel=1e-3)


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_a_current_here_lifts_there_what_a_current_there_lifts_here(name, state):
    """Reciprocity of every two nodes of the examples."""
    solved = network(name).solved(state)
    nodes = slice(0, solved.layout.nodes)
    transfer = solved.inverse[nodes, nodes]

    assert np.abs(transfer - transfer.T).max() <= 1e-9 * np.abs(transfer).max()
    assert np.abs(transfer).max() > 0


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
def test_phases_may_be_turned_cyclically(tmp_path, state):
    """All circuits on L2 or L3: the same currents and voltages, a third of a turn later."""
    turned = {}
    for line, following in TURNED.items():
        net = network_of(tmp_path, THREE_PHASES, on_line(line))
        amps, x, solved = fault(net, state, "circuit heater", f"{line}-PE", case="hot")
        healthy = abs(solved.voltage("island board", following, x=x))
        turned[line] = (amps, healthy, abs(solved.voltage("main earthing terminal", "PE", x=x)))
    for later, degrees in (("L2", -120), ("L3", 120)):
        assert turned[later][0] == pytest.approx(
            turned["L1"][0] * cmath.rect(1, math.radians(degrees)), rel=1e-6
        )
        assert turned[later][1:] == pytest.approx(turned["L1"][1:], rel=1e-6, abs=1e-6)


def test_the_order_in_the_file_does_not_matter(tmp_path):
    """Boards, cables and circuits written backwards: the same voltages and fault currents."""
    path = written(tmp_path, THREE_PHASES)
    forwards = Network(parts_of(read_job(path)))
    told = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506
    for section in ("boards", "cables", "circuits"):
        told[section] = dict(reversed(told[section].items()))
    path.write_text(yaml.safe_dump(told, sort_keys=False), encoding="utf-8")
    job = read_job(path)
    backwards = Network(parts_of(job))

    assert list(job.circuits) == ["cooker", "lamps", "heater"]
    for state in STATES:
        for place in ("circuit heater", "circuit lamps", "cable house side"):
            amps, x, solved = fault(forwards, state, place, "L1-PE")
            again, y, other = fault(backwards, state, place, "L1-PE")
            assert again == pytest.approx(amps, rel=1e-9)
            for name in solved.parts.nodes:
                where = name.rsplit(".", 1)
                here, there = solved.voltage(*where, x=x), other.voltage(*where, x=y)
                assert here == pytest.approx(there, abs=1e-6)


@settings(max_examples=12, deadline=None)
@given(
    sizes=st.lists(st.sampled_from([1.5, 2.5, 4, 6, 10]), min_size=2, max_size=2, unique=True),
    length=st.integers(min_value=1, max_value=80),
    state=st.sampled_from(STATES),
)
def test_a_larger_protective_conductor_never_raises_the_loop(sizes, length, state):
    """Z_s falls with the PE's cross-section, on the grid and in the island."""
    thin, thick = sorted(sizes)
    loops = []
    for size in (thin, thick):
        with TemporaryDirectory() as folder:
            laid = f"earth: {size} mm2, size: 2.5 mm2, length: {length} m"
            net = network_of(Path(folder), ONE_PHASE_PEN, ("size: 2.5 mm2, length: 20 m", laid))
        loops.append(abs(loop_ohm(net, state, "circuit heater", "L1-PE", case="hot")))
    assert loops[1] < loops[0]


@settings(max_examples=8, deadline=None)
@given(shorter=st.integers(1, 60), more=st.integers(1, 60), state=st.sampled_from(STATES))
def test_a_longer_circuit_never_lowers_loop_or_drop(shorter, more, state):
    """Both grow with every metre."""
    found = []
    for metres in (shorter, shorter + more):
        with TemporaryDirectory() as folder:
            laid = f"size: 2.5 mm2, length: {metres} m"
            job = job_of(Path(folder), ONE_PHASE_PEN, ("size: 2.5 mm2, length: 20 m", laid))
        net = Network(parts_of(job))
        flow = LoadFlow(job, net.solved(state), {"heater": 10.0})
        source = "inverter" if state is ISLAND else "supply"
        loop = abs(loop_ohm(net, state, "circuit heater", "L1-PE", case="hot"))
        found.append((loop, flow.drop_v("heater", source)[0]))
    assert found[1][0] > found[0][0]
    assert found[1][1] > found[0][1]
