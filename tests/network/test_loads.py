"""A state with its loads on: what flows into each node flows out of it again."""

import cmath

import numpy as np
import pytest

from islewright.network.loads import LoadFlow, Reach, lagging
from islewright.network.parts import EARTH, NODE_LEAK_S
from islewright.network.state import GRID, ISLAND
from islewright.network.way import cables_to
from tests.network.examples import NAMES, job, network

STATES = [GRID, ISLAND]


def amps_of(name: str, state, **more: float) -> dict[str, float]:
    """A current of its own for each circuit that the state feeds."""
    house = job(name)
    row = Reach(house, network(name).solved(state)).row
    fed = [c for c in row if cables_to(house, house.circuits[c].board, state.mode) is not None]
    return {circuit: 1.0 + row[circuit] + more.get(circuit, 0.0) for circuit in fed}


def flow_of(name: str, state, **more: float) -> LoadFlow:
    """The loads on, one circuit with some amperes more."""
    return LoadFlow(job(name), network(name).solved(state), amps_of(name, state, **more))


def into_nodes(flow: LoadFlow, amps: dict[str, float]) -> np.ndarray:
    """Sum of all element currents into each node of the core, from its elements one by one [A]."""
    solved, parts, x = flow.solved, flow.solved.parts, flow.x
    total = np.zeros(len(parts.nodes) + 1, dtype=complex)  # the last one is true earth
    volts = np.append(x[: len(parts.nodes)], 0)

    def across(a: int, b: int, siemens: complex) -> None:
        current = (volts[a] - volts[b]) * siemens
        total[a] -= current
        total[b] += current

    for core in parts.cores:
        across(core.a, core.b, 1 / core.z_hot)
    for capacity in parts.capacities:
        across(capacity.a, capacity.b, capacity.siemens + 1j * solved.layout.omega * capacity.farad)
    for node in range(len(parts.nodes)):
        across(node, EARTH, NODE_LEAK_S)
    for i, branch in enumerate(parts.branches):
        current = x[len(parts.nodes) + i]
        total[branch.a] -= current
        total[branch.b] += current
    for stub in parts.stubs:
        drawn = flow.near_currents(stub.circuit)
        for conductor, node in zip(stub.conductors, stub.nodes, strict=True):
            total[node] -= drawn[conductor]
    for inline in parts.inlines:
        far = dict(zip(inline.conductors, inline.far, strict=True))
        drawn = drawn_at_far_end(flow, amps.get(inline.circuit, 0.0), inline.circuit)
        for conductor, current in drawn.items():
            total[far[conductor]] += current
    return total[:-1]


def drawn_at_far_end(flow: LoadFlow, amps: float, circuit: str) -> dict[str, complex]:
    """What a circuit's load injects into its far conductors, by its own sum [A]."""
    house, parts = flow.job, flow.solved.parts
    stubs = [s for s in (*parts.stubs, *parts.inlines) if s.circuit == circuit]
    at = stubs[0].nodes if stubs[0] in parts.stubs else stubs[0].far
    healthy = dict(zip(stubs[0].conductors, flow.solved.x[list(at)], strict=True))
    found = dict.fromkeys((c for c in healthy if c != "PE"), 0j)
    lines = [c for c in healthy if c.startswith("L")]
    if len(lines) == 3 and "N" not in healthy:
        return found | _star(amps, {c: healthy[c] for c in lines}, house.circuits[circuit])
    pairs = [(line, "N") for line in lines] if "N" in healthy else [tuple(lines)]
    for a, b in pairs:
        reference = healthy[a] if b == "N" else healthy[a] - healthy[b]
        current = cmath.rect(amps, cmath.phase(reference)) * lagging(house.circuits[circuit])
        found[a] -= current
        found[b] += current
    return found


def _star(amps: float, volts: dict[str, complex], circuit) -> dict[str, complex]:
    """Each line against the middle of the three; what would come back by a neutral shared out.

    Nothing flows where the lines are all in phase.
    """
    middle = sum(volts.values()) / 3
    if min(abs(volt - middle) for volt in volts.values()) < 1:
        return dict.fromkeys(volts, 0j)
    drawn = {
        line: -cmath.rect(amps, cmath.phase(volt - middle)) * lagging(circuit)
        for line, volt in volts.items()
    }
    back = sum(drawn.values()) / 3
    return {line: current - back for line, current in drawn.items()}


def near_conductors(flow: LoadFlow, circuit: str) -> tuple[str, ...]:
    return flow.solved.layout.shape.end_of[f"circuit {circuit}", "far"].conductors


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_currents_add_up_to_nothing_at_every_node(name, state):
    """Kirchhoff, from the currents of cores, contacts, capacitances and circuits."""
    flow = flow_of(name, state)

    assert (
        np.abs(into_nodes(flow, amps_of(name, state))).max()
        < 1e-6 * np.abs(flow.x[len(flow.solved.parts.nodes) :]).max()
    )


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_what_the_sources_give_is_lost_or_drawn(name, state):
    """Power of the EMFs = losses in contacts, cores and leaks + power into the circuits [VA]."""
    flow, drawing = flow_of(name, state), amps_of(name, state)
    solved, parts, x = flow.solved, flow.solved.parts, flow.x
    n = len(parts.nodes)
    volts = np.append(x[:n], 0)
    given = sum(parts.branches[i].emf * np.conj(x[n + i]) for i in solved.sources)
    spent = sum(b.z_hot * abs(x[n + i]) ** 2 for i, b in enumerate(parts.branches))
    spent += sum(abs(volts[c.a] - volts[c.b]) ** 2 * np.conj(1 / c.z_hot) for c in parts.cores)
    spent += sum(
        abs(volts[c.a] - volts[c.b]) ** 2 * np.conj(c.siemens + 1j * solved.layout.omega * c.farad)
        for c in parts.capacities
    )
    spent += sum(abs(v) ** 2 * NODE_LEAK_S for v in volts)
    for stub in parts.stubs:
        amps = flow.near_currents(stub.circuit)
        spent += sum(
            volts[node] * np.conj(amps[c])
            for c, node in zip(stub.conductors, stub.nodes, strict=True)
        )
    for inline in parts.inlines:
        far = dict(zip(inline.conductors, inline.far, strict=True))
        drawn = drawn_at_far_end(flow, drawing.get(inline.circuit, 0.0), inline.circuit)
        spent -= sum(volts[far[c]] * np.conj(current) for c, current in drawn.items())

    assert given == pytest.approx(spent, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_a_circuit_draws_its_current_at_its_power_factor(name):
    """Current into the line of its bar, turned against the bar's voltage by the load's angle."""
    flow = flow_of(name, GRID)
    for circuit, k in flow.reach.row.items():
        mine = drawn_at_far_end(flow, 1.0 + k, circuit)
        conductors = near_conductors(flow, circuit)
        theirs = dict(zip(conductors, flow.reach.per_amp[k] * (1.0 + k), strict=False))
        assert {c: theirs[c] for c in mine} == pytest.approx(mine)


@pytest.mark.parametrize("state", STATES, ids=lambda s: s.name)
@pytest.mark.parametrize("name", NAMES)
def test_some_amperes_more_are_the_same_as_a_new_solution_with_them(name, state):
    """Far-end volts and drop of one circuit with 3 A more, against all loads solved anew."""
    before = flow_of(name, state)
    source = "supply" if state is GRID else "inverter"
    for circuit in list(amps_of(name, state))[::4]:
        anew = flow_of(name, state, **{circuit: 3.0})

        assert before.far(circuit, more_amps=3.0) == pytest.approx(anew.far(circuit))
        drop, nominal = before.drop_v(circuit, source, more_amps=3.0)
        assert drop == pytest.approx(anew.drop_v(circuit, source)[0], abs=1e-9)
        across = 2.0 if job(name).supply.form == "split phase" else np.sqrt(3)
        u_0 = float(job(name).supply.nominal_voltage_v)
        assert nominal in (pytest.approx(u_0), pytest.approx(across * u_0))


def test_a_shared_neutral_is_told_once_with_all_that_returns_through_it():
    """Its sharer has no neutral core of its own to tell of."""
    flow = flow_of("shared neutral", GRID)
    owner, sharer = (flow.near_currents(f"lights {floor}") for floor in ("upstairs", "downstairs"))

    assert set(owner) >= {"L1", "N"}
    assert "N" not in sharer
    assert owner["N"] == pytest.approx(-owner["L1"] - sharer["L1"], rel=1e-3)
