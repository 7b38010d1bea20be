"""Where neutral and earth are joined, as seen from a board's neutral in a state.

A question of connection alone: nothing is solved.
"""

from __future__ import annotations

from islewright.job.device import Device
from islewright.job.model import Job
from islewright.network.parts import Parts
from islewright.network.solve import Network
from islewright.network.state import Mode, State
from islewright.network.way import cables_to

#: words for the operator's joint, with a PEN and without
OPERATOR_JOINTS = ("the operator's PEN", "the operator's transformer")
#: words for the joints that a house can have, by the contact group of the network
_WORDS = {
    "bond": "the bond in the islanding switch",
    "inverter bond": "the bond in the inverter",
}


def joints_of(net: Network, state: State, board: str) -> list[str]:
    """Joints of N and PE that the neutral of a board reaches in a state, in words.

    The public supply's own joints count as one: its transformer, and the PEN however often
    it is earthed, split included.
    """
    parts = net.parts
    reached = _neutrals(parts, state, f"{board}.N")
    found = []
    cores = {core.name for core in parts.cores}
    if "transformer.N" in reached and "transformer electrode" in cores:
        found.append(OPERATOR_JOINTS[0 if "PEN electrodes" in cores else 1])
    for branch in parts.branches:
        if branch.kind not in ("bond", "link") or not state.is_closed(branch):
            continue
        names = {parts.nodes[branch.a], parts.nodes[branch.b]}
        if branch.group == "PEN split" or not _joins(names):
            continue
        neutral = next(n for n in names if n.endswith(".N"))
        if neutral in reached:
            found.append(_WORDS.get(branch.group, branch.name))
    return found


def _joins(names: set[str]) -> bool:
    return {name.rpartition(".")[2] for name in names} == {"N", "PE"}


def _neutrals(parts: Parts, state: State, start: str) -> set[str]:
    """Neutral nodes that hang together with one of them, joints to earth left out."""
    links: dict[str, list[str]] = {}
    pairs = [(c.a, c.b) for c in parts.cores]
    closed = zip(parts.branches, state.closed_of(parts.branches), strict=True)
    pairs += [(b.a, b.b) for b, conducts in closed if conducts and not b.emf]
    for a, b in pairs:
        if a < 0 or b < 0:
            continue
        p, q = parts.nodes[a], parts.nodes[b]
        if p.endswith(".N") and q.endswith(".N"):
            links.setdefault(p, []).append(q)
            links.setdefault(q, []).append(p)
    reached, queue = {start}, [start]
    for name in queue:
        for other in links.get(name, ()):
            if other not in reached:
                reached.add(other)
                queue.append(other)
    return reached


def neutral_of(job: Job, board: str, mode: Mode) -> tuple[str, float] | None:
    """The cable that carries a board's neutral, and the rating that it is protected at [A]."""
    way = cables_to(job, board, mode) or ()
    rated: list[tuple[float, str]] = []
    for name, cable in way:
        if isinstance(cable.device, Device) and "N" in cable.cores:
            rated.append((float(cable.device.i_n_a), name))
    if not rated:
        return None
    amps, name = min(rated)
    return name, amps
