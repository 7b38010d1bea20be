"""What stays alive for each position of each isolator, the inverter running or stopped.

A house with backup power comes alive again after its main switch is opened: the inverter
sees an outage and forms an island. So each row is solved twice, with and without it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from islewright.job.model import Job
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, State
from islewright.network.tell import DEAD_BELOW_V, place_volts


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolation:
    """One isolator open: which places are alive.

    Attributes
    ----------
    isolator : what is opened, in words
    inverter : "left running" or "stopped first"
    alive, dead : boards, terminals and inverter, in the order of the network
    """

    isolator: str
    inverter: str
    alive: tuple[str, ...]
    dead: tuple[str, ...]


def isolations(job: Job, net: Network) -> tuple[Isolation, ...]:
    """Every isolator of the house, opened alone."""
    return tuple(_told(job, net, *case) for case in _cases(job))


def _cases(job: Job) -> Iterator[tuple[str, str, State]]:
    upstream = [("main fuse", "main fuse")]
    for name, board in job.boards.items():
        if board.has("main_switch"):
            upstream.append((f"main switch of {name}", f"main switch {name}"))
    for words, group in upstream:
        opened = frozenset({group})
        yield words, "left running", ISLAND.but(f"{words} open", grid="on", opened=opened)
        yield words, "stopped first", GRID.but(f"{words} open, inverter stopped", opened=opened)
    yield "islanding switch", "left running", ISLAND.but("islanding switch open", grid="on")
    yield "islanding switch", "stopped first", GRID.but("islanding switch open", switch="open")
    for name, cable in job.cables.items():
        ends = {cable.from_.partition("/")[0], cable.to.partition("/")[0]}
        if cable.device is not None and "inverter" in ends:
            group = frozenset({f"device {name}"})
            yield (
                f"{cable.device.name} of the {name}",
                "left running",
                GRID.but(f"{name} open", opened=group),
            )


def _told(job: Job, net: Network, words: str, inverter: str, state: State) -> Isolation:
    solved = net.solved(state)
    volts = place_volts(solved)
    places = ["supply", *job.boards, "islanding switch/grid", "islanding switch/house", "inverter"]
    alive = [p for p in places if volts.get(p, 0.0) >= DEAD_BELOW_V]
    return Isolation(
        isolator=words,
        inverter=inverter,
        alive=tuple(alive),
        dead=tuple(p for p in places if p not in alive),
    )
