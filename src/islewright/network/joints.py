"""Where neutral and earth are joined, as seen from a board's neutral in a state.

A question of connection alone: nothing is solved.
"""

from __future__ import annotations

from islewright.job.device import Device
from islewright.job.model import Job
from islewright.network.parts import Branch, Parts
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
    return Joints(net, state).of(board)


class Joints:
    """The joints of one state, and how its neutrals hang together."""

    def __init__(self, net: Network, state: State) -> None:
        parts = net.parts
        cores = {core.name for core in parts.cores}
        self._operators = []
        if "transformer electrode" in cores:
            self._operators = [OPERATOR_JOINTS[0 if "PEN electrodes" in cores else 1]]
        conducting = [
            branch
            for branch, closed in zip(parts.branches, state.closed_of(parts.branches), strict=True)
            if closed
        ]
        self._beside = _neutrals(parts, conducting)
        self._joints = [
            (neutral, _WORDS.get(branch.group, branch.name))
            for branch in conducting
            if branch.kind in ("bond", "link")
            and branch.group != "PEN split"
            and (neutral := _joined(parts.nodes[branch.a], parts.nodes[branch.b]))
        ]

    def of(self, board: str) -> list[str]:
        """Joints that a board's neutral reaches, in words."""
        reached = self._reached(f"{board}.N")
        found = [*self._operators] if "transformer.N" in reached else []
        return [*found, *(words for neutral, words in self._joints if neutral in reached)]

    def _reached(self, start: str) -> set[str]:
        """Neutral nodes that hang together with one of them."""
        reached, queue = {start}, [start]
        for name in queue:
            for other in self._beside.get(name, ()):
                if other not in reached:
                    reached.add(other)
                    queue.append(other)
        return reached


def _joined(one: str, other: str) -> str:
    """The neutral of two nodes that are a neutral and an earth; "" where they are not."""
    for neutral, earth in ((one, other), (other, one)):
        if neutral.endswith(".N") and earth.endswith(".PE"):
            return neutral
    return ""


def _neutrals(parts: Parts, conducting: list[Branch]) -> dict[str, list[str]]:
    """Neutral nodes with those that hang on them, joints to earth left out."""
    links: dict[str, list[str]] = {}
    neutral = {k: name for k, name in enumerate(parts.nodes) if name.endswith(".N")}
    pairs = [(c.a, c.b) for c in parts.cores]
    pairs += [(b.a, b.b) for b in conducting if not b.emf]
    for a, b in pairs:
        if a in neutral and b in neutral:
            p, q = neutral[a], neutral[b]
            links.setdefault(p, []).append(q)
            links.setdefault(q, []).append(p)
    return links


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
