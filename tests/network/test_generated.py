"""Laws that hold in any house, tried on houses made by chance."""

from __future__ import annotations

import cmath
import copy
import itertools
import math

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st

from islewright.network.build import build
from islewright.network.fault import Faults, Ports
from islewright.network.loads import LoadFlow
from islewright.network.parts import EARTH, NODE_LEAK_S
from islewright.network.solve import Network
from islewright.network.state import GRID, GRID_FEEDING, ISLAND, STATES
from islewright.tables.profile import profile
from tests.network.generated import FORMS, SIZES, law, loads_of, read, tree_of

#: a loop of more than this leads through capacitance
AFLOAT_OHM = 1e4
states = st.sampled_from(STATES)
modes = st.sampled_from([GRID, ISLAND])


def network(tree, words, *exchanged):
    job = read(tree, words, *exchanged)
    parts = build(job, profile("IEC base"))
    assert not parts.missing
    return job, Network(parts)


def currents_out(solved, flow):
    """Sum of the currents that leave each node of the core through its elements [A]."""
    parts, x, omega = solved.parts, flow.x, solved.layout.omega
    volts = np.append(x[: len(parts.nodes)], 0)
    out = np.zeros(len(parts.nodes) + 1, dtype=complex)

    def flows(a, b, amps):
        out[a] += amps
        out[b] -= amps

    for core in parts.cores:
        flows(core.a, core.b, (volts[core.a] - volts[core.b]) / core.z_hot)
    for c in parts.capacities:
        flows(c.a, c.b, (volts[c.a] - volts[c.b]) * (c.siemens + 1j * omega * c.farad))
    for branch, amps in zip(parts.branches, x[len(parts.nodes) :], strict=True):
        flows(branch.a, branch.b, amps)
    for feed in solved.feeds:
        flows(feed.a, feed.b, feed.amps)
    for node in range(len(parts.nodes)):
        out[node] += volts[node] * NODE_LEAK_S
    for stub in parts.stubs:
        near = flow.near_currents(stub.circuit)
        for c, node in zip(stub.conductors, stub.nodes, strict=True):
            out[node] += near[c]
    return out[:EARTH]


def drawn_at(flow, job, amps):
    """What each load takes out of its line at the far end [A]."""
    taken = {}
    for name, current in amps.items():
        volts = complex(flow.solved.x[flow.reach.nodes[flow.reach.row[name]][0]])
        neutral = complex(flow.solved.x[flow.reach.nodes[flow.reach.row[name]][1]])
        fed = abs(volts - neutral) >= 0.5 * flow.solved.parts.u0_v
        taken[name] = current * volts / abs(volts) if fed else 0j
    return taken


@law(state=states)
def test_what_flows_into_a_node_flows_out_of_it(house, state):
    """Kirchhoff at every node of the core, from the currents of cores, poles, sources, stubs."""
    job, net = network(*house)
    solved = net.solved(state)
    amps = loads_of(job)
    flow = LoadFlow(job, solved, amps)
    out = currents_out(solved, flow)
    for inline in solved.parts.inlines:  # their loads hang on nodes of the core
        taken = drawn_at(flow, job, {inline.circuit: amps[inline.circuit]})[inline.circuit]
        out[inline.far[inline.conductors.index("N")]] -= taken
        out[inline.far[0]] += taken

    largest = max(1.0, np.abs(flow.x[len(solved.parts.nodes) :]).max())
    # without an earthed supply voltages to earth have fewer digits, so have sums of currents
    digits = 1e-5 if house[1]["system"] == "IT" else 1e-6
    assert np.abs(out).max() <= digits * largest


@law(state=modes)
def test_what_flows_into_a_circuit_is_its_load_and_its_leakage(house, state):
    """Kirchhoff behind the device and at the far end of every circuit, from its own elements."""
    job, net = network(*house)
    solved = net.solved(state)
    amps = loads_of(job)
    flow = LoadFlow(job, solved, amps)
    taken = drawn_at(flow, job, amps)
    omega = solved.layout.omega
    for stub in solved.parts.stubs:
        near, far = flow.near_currents(stub.circuit), flow.far(stub.circuit)
        names = stub.conductors
        inner = {
            c: flow.x[node] - (0 if c == "PE" else near[c] * stub.contact_ohm)
            for c, node in zip(names, stub.nodes, strict=True)
        }
        half = 1j * omega * stub.farad / 2
        line, load = names[0], taken[stub.circuit]
        for c, z in zip(names, stub.z_hot, strict=True):
            through = (inner[c] - far[c]) / z
            if c == "PE":
                continue  # it gathers the charging of the others, as their sum shows
            assert near[c] == pytest.approx(through + half * (inner[c] - inner["PE"]), abs=1e-6)
            leak = 1j * omega * stub.leak_farad * (c == line) + half
            ends = leak * (far[c] - far["PE"]) + (load if c == line else -load)
            assert through == pytest.approx(ends, abs=1e-6)
        assert abs(sum(near.values())) <= 1e-6


@law(most=25, state=states)
def test_every_transfer_impedance_holds_both_ways(house, state):
    """A current here lifts there what a current there lifts here."""
    _, net = network(*house)
    solved = net.solved(state)
    nodes = slice(0, solved.layout.nodes)
    transfer = solved.inverse[nodes, nodes]

    assert np.abs(transfer - transfer.T).max() <= 1e-8 * np.abs(transfer).max()


@law(most=25, state=modes)
def test_power_given_is_power_taken(house, state):
    """Sources give what cores, poles, capacitances and circuits take, active and reactive."""
    job, net = network(*house)
    solved = net.solved(state)
    amps = loads_of(job)
    flow = LoadFlow(job, solved, amps)
    parts, x = solved.parts, flow.x
    volts = np.append(x[: len(parts.nodes)], 0)
    taken = given_ = 0j
    for core in parts.cores:
        taken += abs(volts[core.a] - volts[core.b]) ** 2 / np.conj(core.z_hot)
    for c in parts.capacities:
        siemens = c.siemens + 1j * solved.layout.omega * c.farad
        taken += abs(volts[c.a] - volts[c.b]) ** 2 * np.conj(siemens)
    taken += NODE_LEAK_S * (np.abs(volts) ** 2).sum()
    for branch, current in zip(parts.branches, x[len(parts.nodes) :], strict=True):
        taken += abs(current) ** 2 * branch.z_hot
        given_ += branch.emf * np.conj(current)
    for stub in parts.stubs:
        near = flow.near_currents(stub.circuit)
        for c, node in zip(stub.conductors, stub.nodes, strict=True):
            taken += volts[node] * np.conj(near[c])
    for inline in parts.inlines:
        load = drawn_at(flow, job, {inline.circuit: amps[inline.circuit]})[inline.circuit]
        far = flow.far(inline.circuit)
        taken += (far[inline.conductors[0]] - far["N"]) * np.conj(load)

    assert taken == pytest.approx(given_, rel=1e-7, abs=1e-3)


@law(most=12, turns=st.integers(1, 2), state=modes)
def test_phases_turned_by_one_turn_everything_by_a_third(house, turns, state):
    """Every circuit one line on: the same fault currents in size, voltages turned."""
    tree, words = house
    assume(words["form"] == "three phases")
    lines = words["lines"].split()
    following = {line: lines[(i + turns) % 3] for i, line in enumerate(lines)}
    turned = copy.deepcopy(tree)
    for circuit in turned["circuits"].values():
        line = following[circuit["lines"]]
        circuit |= {"lines": line, "cores": f"{line} N PE"}
    found = []
    for each in (tree, turned):
        job, net = network(each, words)
        solved = net.solved(state)
        faults = Faults(solved, Ports(solved.layout, 1))
        flow = LoadFlow(job, solved, loads_of(job))
        found.append((faults, flow))
    (one, here), (other, there) = found
    turn = cmath.rect(1, math.radians(-120 * turns))
    for name, current in zip(one.ports.names, one.current[:, 0], strict=True):
        kind = "-".join(following.get(c, c) for c in name.kind.split("-"))
        row = other.ports.position.get(name._replace(kind=kind))
        if row is not None:
            assert other.current[row, 0] == pytest.approx(current * turn, rel=1e-6, abs=1e-6)
    for place in ("main board", "island board"):
        for line in lines:
            assert there.solved.voltage(place, following[line], x=there.x) == pytest.approx(
                here.solved.voltage(place, line, x=here.x) * turn, rel=1e-6, abs=1e-4
            )


@law(most=12, state=modes, chance=st.randoms(use_true_random=False))
def test_the_order_in_the_file_changes_nothing(house, state, chance):
    """Boards, cables and circuits shuffled: every fault current is the same."""
    tree, words = house
    shuffled = copy.deepcopy(tree)
    for section in ("boards", "cables", "circuits"):
        items = list(shuffled[section].items())
        chance.shuffle(items)
        shuffled[section] = dict(items)
    found = []
    for each in (tree, shuffled):
        _, net = network(each, words)
        faults = Faults(net.solved(state), Ports(net.layout("hot"), 1))
        found.append(dict(zip(faults.ports.names, faults.current[:, 0].tolist(), strict=True)))

    assert found[0].keys() == found[1].keys()
    for name, current in found[0].items():
        assert found[1][name] == pytest.approx(current, rel=1e-6, abs=1e-6), name


@law(most=8, state=modes, which=st.integers(0, 7))
def test_a_larger_protective_conductor_helps_everywhere(house, state, which):
    """Z_s never rises by it, on the grid or in the island, whatever stands around."""
    tree, words = house
    name = f"circuit {which % len(tree['circuits'])}"
    found = []
    for size in SIZES:
        each = copy.deepcopy(tree)
        each["circuits"][name]["earth"] = size
        _, net = network(each, words)
        faults = Faults(net.solved(state), Ports(net.layout("hot"), 1))
        line = each["circuits"][name]["lines"]
        row = faults.ports.position[
            next(n for n in faults.ports.names
                 if n.place == f"circuit {name}" and n.end == "far" and n.kind == f"{line}-PE")
        ]  # fmt: skip
        found.append(abs(faults.z_port[row, 0, 0]))

    # what hangs on capacitance alone has no more digits than that, here as in any other solver:
    # an IT supply, and a board that is dead in the island
    digits = 1e-5 if min(found) > AFLOAT_OHM else 1e-9
    assert all(thin >= thick * (1 - digits) for thin, thick in itertools.pairwise(found))


@law(most=8, which=st.integers(0, 7), more=st.integers(1, 60), state=modes)
def test_a_longer_or_thinner_circuit_never_gains(house, which, more, state):
    """One phase, nothing feeds behind it: length never lowers Z_s or drop, size never raises it."""
    tree, words = house
    name = f"circuit {which % len(tree['circuits'])}"
    circuit = tree["circuits"][name]
    shared = {c.get("neutral with") for c in tree["circuits"].values()}
    assume(state is GRID or circuit["board"] == "island board")  # else it may be dead
    assume("ring" not in circuit and "neutral with" not in circuit and name not in shared)
    # the first fault on an IT supply returns through capacitance, of which longer cables have more
    back = "N" if words["system"] == "IT" and state is GRID else "PE"

    def found(change):
        each = copy.deepcopy(tree)
        each["circuits"][name] |= change
        job, net = network(each, words)
        solved = net.solved(state)
        faults = Faults(solved, Ports(net.layout("hot"), 1))
        port = next(n for n in faults.ports.names
                    if n.place == f"circuit {name}" and n.end == "far"
                    and n.kind == f"{circuit['lines']}-{back}")  # fmt: skip
        loop = abs(faults.z_port[faults.ports.position[port], 0, 0])
        flow = LoadFlow(job, solved, {name: 10.0})
        return loop, flow.drop_v(name, "inverter" if state is ISLAND else "supply")[0]

    metres = int(circuit["length"].split()[0])
    as_is, longer = found({}), found({"length": f"{metres + more} m"})
    sizes = [found({"size": size}) for size in SIZES]

    assert longer[0] >= as_is[0] * (1 - 1e-9)
    assert longer[1] >= as_is[1] - 1e-6
    for thin, thick in itertools.pairwise(sizes):
        assert thick[1] <= thin[1] + 1e-6


@law(most=20, systems=("IT",), size=st.sampled_from(["as line", *SIZES]))
def test_a_first_fault_without_an_earthed_supply_draws_next_to_nothing(house, size):
    """IT on the grid: milliamperes whatever the PE; in the island the bond makes a loop of it."""
    tree, words = house
    assume(tree["circuits"]["circuit 0"]["board"] == "island board")  # else the island has none
    tree["circuits"]["circuit 0"]["earth"] = size
    _, net = network(tree, words)
    amps = {}
    for state in (GRID, ISLAND):
        faults = Faults(net.solved(state), Ports(net.layout("hot"), 1))
        amps[state.name] = {
            name: abs(current)
            for name, current in zip(faults.ports.names, faults.current[:, 0], strict=True)
            if name.place == "circuit circuit 0" and name.kind.endswith("-PE")
        }

    assert 0 < max(amps[GRID.name].values()) < 0.1
    assert min(amps[ISLAND.name].values()) > 10


def test_every_generated_form_can_be_read_and_has_all_its_sources():
    """The houses of these tests are houses: fed in grid mode and in the island."""
    for words in FORMS.values():
        _, net = network(tree_of(words), words)
        for state in (GRID, ISLAND, GRID_FEEDING):
            solved = net.solved(state)
            volts = solved.voltage("island board", "L1") - solved.voltage("island board", "N")
            assert abs(volts) == pytest.approx(float(words["volts"]), rel=0.05), (
                words["system"],
                state.name,
            )
