"""More laws on houses made by chance: the stiff island, the protective conductor, residuals."""

from __future__ import annotations

import copy
import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, find, settings
from hypothesis import strategies as st

from islewright.network.build import build
from islewright.network.earth_faults import EarthFaults
from islewright.network.fault import Faults, Ports
from islewright.network.loads import LoadFlow
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND
from islewright.tables.profile import profile
from tests.network.generated import FORMS, SIZES, houses, law, loads_of, read

#: the public supply stands at the inverter's terminals, the bond is closed, the switch open
MOVED = GRID.but(
    "grid at the inverter", opened=frozenset({"islanding switch"}), closed=frozenset({"bond"})
)


def network(tree, words, *exchanged):
    job = read(tree, words, *exchanged)
    parts = build(job, profile("IEC base"))
    assert not parts.missing
    return job, parts


@law(most=20, ohm=st.sampled_from(["0.1 mohm", "0.2 ohm"]))
def test_an_island_with_a_stiff_source_is_the_grid_at_the_same_terminals(house, ohm):
    """Without a limit: same fault currents, same voltages at loads, same drops."""
    tree, words = house
    stiff = ("output impedance: 0.2 ohm", f"output impedance: {ohm}")
    job, parts = network(tree, words, *([stiff] if ohm != "0.2 ohm" else []))
    there = {b.conductor: b for b in parts.branches if b.group == "inverter"}
    moved = replace(parts, branches=[
        replace(there[b.conductor], group=b.group, kind=b.kind) if b.group == "public supply" else b
        for b in parts.branches
    ])  # fmt: skip
    amps, found = loads_of(job), []
    for net, state in ((Network(parts), ISLAND), (Network(moved), MOVED)):
        solved = net.solved(state)
        flow = LoadFlow(job, solved, amps)
        found.append((Faults(solved, Ports(net.layout("hot"), 1)), flow))
    (island, here), (grid, instead) = found
    assert np.abs(island.current).max() > 10
    assert np.abs(island.current - grid.current).max() <= 1e-7 * np.abs(island.current).max()
    nodes = slice(0, len(parts.nodes))
    behind = np.array([name.startswith(("island board", "inverter")) for name in parts.nodes])
    off = np.abs(here.x[nodes] - instead.x[nodes])[behind]
    assert off.max() <= 1e-4


@law(most=8, which=st.integers(0, 7))
def test_a_larger_protective_conductor_never_raises_what_a_limited_current_leaves(house, which):
    """Of a circuit's own: while the inverter holds the current, the touch voltage never rises."""
    tree, words = house
    name = f"circuit {which % len(tree['circuits'])}"
    assume(tree["circuits"][name]["board"] == "island board")
    found = []
    for size in SIZES:
        each = copy.deepcopy(tree)
        each["circuits"][name]["earth"] = size
        job, parts = network(each, words)
        solved = Network(parts).solved(ISLAND)
        faults = EarthFaults(job, solved, Ports(solved.layout, 1))
        at = faults.worst(f"circuit {name}", "far")
        found.append((bool(faults.limited[at.column]), *faults.touch_v(at)))
    for thin, thick in itertools.pairwise(found):
        if thin[0] and thick[0]:
            assert thick[1] <= thin[1] * (1 + 1e-6)
    assume(any(limited for limited, *_ in found))


@law(most=30, state=st.sampled_from([GRID, ISLAND]))
def test_the_residual_of_a_group_is_the_sum_of_its_circuits(house, state):
    """What an RCD sees is what leaks in the circuits behind it, and in nothing else."""
    job, parts = network(*house)
    solved = Network(parts).solved(state)
    flow = LoadFlow(job, solved, loads_of(job))
    inlines = {inline.circuit for inline in parts.inlines}
    largest = max(1.0, np.abs(flow.x).max())
    groups = 0
    for board, rcd in ((b, r) for b, each in job.boards.items() for r in each.rcds):
        behind = [n for n, c in job.circuits.items() if (c.board, c.behind) == (board, rcd)]
        if not behind or inlines & set(behind):
            continue
        groups += 1
        place = f"RCD {board}/{rcd}"
        poles = {b.name for b in parts.branches if b.group == place}
        seen = sum(solved.current(pole, x=flow.x) for pole in poles)
        leaks = sum(amps for n in behind for c, amps in flow.near_currents(n).items() if c != "PE")
        assert abs(seen - leaks) <= 1e-7 * largest
    assume(groups)


WANTED = {
    **{f"form {name}": lambda h, w=words: h[1] == w for name, words in FORMS.items()},
    "one circuit": lambda h: len(h[0]["circuits"]) == 1,
    "more than fifty circuits": lambda h: len(h[0]["circuits"]) > 50,
    "a ring": lambda h: any("ring" in c for c in h[0]["circuits"].values()),
    "a shared neutral": lambda h: any("neutral with" in c for c in h[0]["circuits"].values()),
    "four boards": lambda h: len(h[0]["boards"]) == 4,
}


@pytest.mark.parametrize("what", WANTED)
def test_the_houses_of_chance_are_of_every_kind(what):
    """Every earthing system and number of phases, one to sixty circuits, rings, boards in a row."""
    seek = settings(
        max_examples=300, deadline=None, derandomize=True, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    assert WANTED[what](find(houses(), WANTED[what], settings=seek))
