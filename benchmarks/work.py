"""The pieces of work that are timed: each is what a user's command does, or a part of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from islewright.job.model import Job
    from islewright.network.fault import Faults
    from islewright.network.parts import Parts
    from islewright.rules.study import Study
    from islewright.tables.profile import Profile

EXAMPLE = Path(__file__).parents[1] / "examples" / "farmhouse" / "farmhouse.yaml"


def verify(path: Path = EXAMPLE) -> Study:
    """Read the job and its equipment from their files and judge every rule.

    The study goes to the caller with its findings: what it costs to clear it away is no part
    of reaching them.
    """
    from islewright.job.read import read_job
    from islewright.rules.study import study

    found = study(read_job(path))
    _ = found.findings
    return found


def parts_of(path: Path = EXAMPLE) -> tuple[Job, Profile, Parts]:
    """The elements of a job, built."""
    from islewright.job.read import read_job
    from islewright.network.build import build
    from islewright.tables.profile import profile

    job, rules = read_job(path), profile("IEC base")
    return job, rules, build(job, rules)


def two_states(job: Job, rules: Profile, parts: Parts) -> int:
    """Grid and island state, least and largest currents of every fault; count the currents.

    From the job's elements: nodes to integers, matrices, elimination, inverses, then every
    L-PE, L-N, L-L and three-phase fault at both ends of every circuit and cable, in the
    island at the inverter's limit. Least: hot, EMFs times c_min. Largest: cold, c_max.
    """
    from islewright.network.fault import Faults, Ports, line_currents
    from islewright.network.limit import limit_scale, limited_currents
    from islewright.network.solve import Network
    from islewright.network.state import GRID, ISLAND

    net = Network(parts)
    inverter = job.inverter
    count = 0
    for case, key in (("hot", "loop.c_min"), ("cold", "loop.c_max")):
        factor = float(rules.number(key))
        ports = [Ports(net.layout(case), count) for count in (1, 2)]
        for state in (GRID, ISLAND):
            solved = net.solved(state, case=case, factor=factor)
            for each in ports:
                faults = Faults(solved, each)
                current = faults.current
                if state is ISLAND:
                    sheet = inverter.fault_current
                    limit = np.where(each.plan.earthed, sheet.to_earth_a, sheet.between_lines_a)
                    scale = limit_scale(faults, limit, inverter.limits)
                    current = limited_currents(faults, scale)
                count += int(np.isfinite(line_currents(current)).sum())
    return count


def every_voltage(faults: Faults) -> tuple[list[str], NDArray[np.complex128]]:
    """Every node's voltage to true earth in every fault (nodes, faults) [V], and the names.

    The core's from the state's inverse; both ends of every circuit from the core's, and the
    faulted circuit's own besides from the current that runs into its fault.
    """
    layout, plan, port = faults.solved.layout, faults.ports.plan, faults.current
    core = faults.unknowns(np.arange(len(plan.row)))[: layout.nodes]
    found, names, first = [core], list(layout.parts.nodes), 0
    for batch in layout.stubs:
        m, n = batch.att.shape
        inner = batch.t @ core[batch.att]  # (m, 2n, faults)
        here = np.flatnonzero((plan.row >= first) & (plan.row < first + m))
        row = plan.row[here] - first
        z = batch.z_inner[row]  # symmetric, so that its rows serve as columns
        k = np.arange(len(here))
        for p in range(plan.count):
            into, out = (_inner(ends[here, p], n) for ends in (plan.minus, plan.plus))
            inner[row, :, here] += (z[k, into] - z[k, out]) * port[here, p, None]
        found.append(inner.reshape(2 * m * n, -1))
        names += [
            f"circuit {layout.parts.stubs[i].circuit}/{end}.{c}"
            for i, conductors in zip(batch.circuits, batch.conductors, strict=True)
            for end in ("near", "far")
            for c in conductors
        ]
        first += m
    return names, np.concatenate(found)


def _inner(ten: NDArray[np.intp], n: int) -> NDArray[np.intp]:
    """Place among a circuit's 2 n inner nodes of one of the ten that a fault names."""
    found: NDArray[np.intp] = ten % 5 + n * (ten >= 5)
    return found
