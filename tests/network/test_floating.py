"""Parts that nothing holds but their leakage, against elimination in longer numbers."""

import numpy as np
import pytest

from islewright.network.loads import LoadFlow
from islewright.network.solve import Network, SingularNetwork, Solved
from islewright.network.state import ISLAND, STATES
from tests.network.small import (
    ONE_PHASE,
    THREE_PHASES,
    job_of,
    network_of,
    parts_of,
)

NO_BOND = ISLAND.but("island, bond open", bond="open")
FORMS = {"one phase": ONE_PHASE, "three phases": THREE_PHASES}


def equations(solved: Solved) -> tuple[np.ndarray, np.ndarray]:
    """Matrix of a state, and what its sources drive."""
    n, matrix = solved.layout.nodes, solved.layout.matrix.copy()
    opened = n + np.flatnonzero(~solved.closed)
    matrix[opened], matrix[:, opened] = 0, 0
    matrix[opened, opened] = 1
    drive = np.zeros(len(matrix), dtype=complex)
    drive[n + solved.sources] = [-solved.parts.branches[s].emf for s in solved.sources]
    if solved.state.inverter == "feeding":
        for feed in solved.parts.feeds:
            drive[feed.b] += feed.amps
            drive[feed.a] -= feed.amps
    return matrix, drive


def eliminated(matrix: np.ndarray, drive: np.ndarray) -> np.ndarray:
    """Gauss with the largest pivot, in numbers of 64 bits' mantissa where there are any."""
    a = np.column_stack([matrix, drive]).astype(np.clongdouble)
    for k in range(len(a)):
        largest = k + int(np.argmax(np.abs(a[k:, k])))
        a[[k, largest]] = a[[largest, k]]
        a[k] /= a[k, k]
        others = np.arange(len(a)) != k
        a[others] -= a[others, k][:, None] * a[k]
    return a[:, -1].astype(complex)


@pytest.mark.parametrize("state", [*STATES, NO_BOND], ids=lambda s: s.name)
@pytest.mark.parametrize("form", FORMS)
def test_every_state_of_a_small_house_is_solved_exactly(form, state, tmp_path):
    """The main board has no circuit on two of its lines: 1 nS a node is all that holds them."""
    solved = network_of(tmp_path, FORMS[form]).solved(state)

    exact = eliminated(*equations(solved))

    nodes = solved.layout.nodes
    bound = 1e-5 if state is NO_BOND else 1e-8
    assert np.abs(solved.x[:nodes] - exact[:nodes]).max() < bound
    assert np.abs(solved.x[nodes:] - exact[nodes:]).max() < 1e-8


def test_a_network_without_any_answer_is_refused(tmp_path, monkeypatch):
    """Rather a word than a figure: here with the bound on the condition set very low."""
    monkeypatch.setattr("islewright.network.solve.WORST_CONDITION", 10.0)

    with pytest.raises(
        SingularNetwork, match=r"length or resistance is wrong.*'grid' has the condition"
    ):
        network_of(tmp_path, ONE_PHASE).solved(STATES[0])


def test_loads_on_a_dead_line_draw_nothing(tmp_path):
    """One line of three is fed; what hangs on the others stays at no volts."""
    job = job_of(
        tmp_path,
        THREE_PHASES | {"inverter_lines": "L1", "inverter_at": ", line: L1"},
        ("output: three-phase with neutral", "output: single-phase"),
        ("lines: L1, cores: L1 N PE, device: B16 6 kA class 3, size: 1.5 mm2",
         "lines: L2, cores: L2 N PE, device: B16 6 kA class 3, size: 1.5 mm2"),
    )  # fmt: skip
    solved = Network(parts_of(job)).solved(ISLAND)
    flow = LoadFlow(job, solved, {"heater": 10.0, "lamps": 5.0})

    assert abs(solved.voltage("island board", "L1", x=flow.x)) == pytest.approx(226, abs=2)
    assert abs(solved.voltage("island board", "L2", x=flow.x)) < 1e-3
    assert abs(flow.near_currents("lamps")["L2"]) < 1e-6
    assert abs(solved.core_current("cable house side N", x=flow.x)) == pytest.approx(10, abs=0.01)
    drop, nominal = flow.drop_v("lamps", "inverter")
    assert drop == pytest.approx(nominal, rel=1e-3)
