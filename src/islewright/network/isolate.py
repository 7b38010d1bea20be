"""What stays alive for each position of each isolator, the inverter running or stopped.

A house with backup power comes alive again after its main switch is opened: the inverter
sees an outage and forms an island. So each row is solved twice, with and without it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from islewright.job.model import Job
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER, canonical
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, State
from islewright.network.tell import DEAD_BELOW_V, place_volts
from islewright.network.way import NOT_KNOWN, is_backed_up, told_device

RUNNING, STOPPED = "left running", "stopped first"


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolation:
    """One isolator open: which places are alive.

    Attributes
    ----------
    isolator : what is opened, in words; of a bypass, that it is left closed
    inverter : "left running" or "stopped first"
    alive, dead : boards, terminals and inverter, in the order of the network
    """

    isolator: str
    inverter: str
    alive: tuple[str, ...]
    dead: tuple[str, ...]


def isolations(job: Job, net: Network) -> tuple[Isolation, ...]:
    """Every isolator of the house, opened alone."""
    places = ["supply", *job.boards, GRID_SIDE, HOUSE_SIDE, INVERTER]
    return tuple(_told(net, places, *case) for case in _cases(job))


def _cases(job: Job) -> Iterator[tuple[str, str, State]]:
    upstream = [("main fuse", "main fuse")]
    downstream: list[tuple[str, str]] = []
    for name, board in job.boards.items():
        if board.has("main_switch"):
            found = downstream if is_backed_up(job, name) else upstream
            found.append((f"main switch of {name}", f"main switch {name}"))
    for name, cable in job.cables.items():
        there = cable.gap("device") is not None or cable.device is not None
        if there and INVERTER in (canonical(cable.from_), canonical(cable.to)):
            device = told_device(cable) or f"device {NOT_KNOWN}"
            downstream.append((f"{device} of the {name}", f"device {name}"))
    for words, group in upstream:
        # the inverter sees an outage, and starts an island
        opened = frozenset({group})
        yield words, RUNNING, ISLAND.but(f"{words} open", grid="on", opened=opened)
        yield words, STOPPED, GRID.but(f"{words} open, inverter stopped", opened=opened)
    yield "islanding switch", RUNNING, ISLAND.but("islanding switch open", grid="on")
    yield "islanding switch", STOPPED, GRID.but("islanding switch open", switch="open")
    if job.switch.has("bypass_poles"):
        # where nothing interlocks them, the island feeds the street through it
        closed = ISLAND.but("bypass closed in an outage", switch="bypassed")
        yield "bypass left closed in an outage", RUNNING, closed
        yield (
            "bypass left closed in an outage",
            STOPPED,
            closed.but("bypass closed in an outage, inverter stopped", inverter="off"),
        )
    for words, group in downstream:
        state = GRID.but(f"{words} open", opened=frozenset({group}))
        yield words, RUNNING, state
        yield words, STOPPED, state


def _told(
    net: Network, places: Sequence[str], words: str, inverter: str, state: State
) -> Isolation:
    volts = place_volts(net.solved(state))
    if inverter == RUNNING:
        # its own terminals may be live at any moment, whatever is open before them
        volts[INVERTER] = max(volts.get(INVERTER, 0.0), net.parts.u0_v)
    alive = [p for p in places if volts.get(p, 0.0) >= DEAD_BELOW_V]
    return Isolation(
        isolator=words,
        inverter=inverter,
        alive=tuple(alive),
        dead=tuple(p for p in places if p not in alive),
    )
