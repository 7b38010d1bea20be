"""Making a house dead step by step: what to open in which order, and what each step leaves.

The island's source goes first: opened before it, the main switch would only call up the
island. After each step the network is solved again, so that the sheet shows what is still
alive, never what one hopes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from islewright.job.model import Job
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, INVERTER, canonical
from islewright.network.solve import Network
from islewright.network.state import GRID, GRID_FEEDING
from islewright.network.tell import DEAD_BELOW_V, place_volts
from islewright.network.way import NOT_KNOWN, told_device

ALIVE, EMPTYING, DEAD = "alive", "treat", "dead"
#: places on the d.c. side, which the network does not hold
DC_SIDE, DC_SOURCES = "inverter, d.c. side", "battery and PV, their own cables"
#: pins or terminals through which a generator feeds the house
GENERATOR = "generator inlet"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadStep:
    """One order, and what it leaves.

    Attributes
    ----------
    does : "as found", "stop", "open", "unplug", "wait" or "prove"
    what : what is stopped or opened, in words
    remark : what the job says against relying on it, in words
    left : place -> "alive", "treat" (as alive: it may hold a charge or start) or "dead"
    """

    does: str
    what: str
    remark: str = ""
    left: dict[str, str]


def steps_to_dead(job: Job, net: Network) -> tuple[DeadStep, ...]:
    """Every step from the house as found to the house proved dead, in the order of the work."""
    return tuple(_Walk(job, net).steps())


class _Walk:
    """Goes through the steps and keeps what is open by now."""

    def __init__(self, job: Job, net: Network) -> None:
        self.job, self.net = job, net
        self.opened: frozenset[str] = frozenset()
        self.stopped = self.parted = self.waited = False
        self.doubtful = False
        placed = job.placement
        self.direct = [w for w in ("battery", "pv") if placed.has(w) or placed.gap(w) is not None]
        self.had = bool(self.direct)
        self.inlet = job.gap("generator") is not None or job.generator is not None
        self.unplugged = False

    def steps(self) -> Iterator[DeadStep]:
        yield self._step("as found", "grid mode, the inverter running")
        self.stopped = True
        yield self._step("stop", "the inverter, at its own control")
        for what, group, remark in self._inverter_isolators():
            self.opened |= {group} if group else frozenset()
            self.parted = True
            yield self._step("open", what, remark)
        yield from self._direct_current()
        yield from self._generator()
        for what, group, remark in supply_isolators(self.job):
            self.opened |= {group}
            yield self._step("open", what, remark)
        self.waited = True
        yield self._step("wait", "")
        yield self._step("prove", "")

    def _inverter_isolators(self) -> Iterator[tuple[str, str, str]]:
        """Devices between the inverter and the house; its own switch where there are none."""
        found = False
        for name, cable in self.job.cables.items():
            ends = (canonical(cable.from_), canonical(cable.to))
            there = cable.gap("device") is not None or cable.device is not None
            if INVERTER in ends and there:
                found = True
                device = told_device(cable) or f"the device {NOT_KNOWN}"
                yield f"{device} of the {name}", f"device {name}", ""
        if not found:
            yield "the inverter's own a.c. switch", "", "the job names no device on its cable"

    def _direct_current(self) -> Iterator[DeadStep]:
        for word in tuple(self.direct):
            self.direct.remove(word)
            if word == "battery":
                yield self._step("open", "the battery's switch", self._battery_remark())
            else:
                yield self._step("open", "the PV array's isolators", self._pv_remark())

    def _generator(self) -> Iterator[DeadStep]:
        """A generator may be started by whoever finds the house dark."""
        if not self.inlet:
            return
        self.unplugged = True
        known = self.job.gap("generator") is None
        remark = "" if known else "whether there is one is not known"
        yield self._step("unplug" if self._has_a_plug() else "open", "the generator", remark)

    def _has_a_plug(self) -> bool:
        """Whether it can be pulled; one that is wired in has a breaker to open instead."""
        inlet = self.job.generator if self.job.gap("generator") is None else None
        return not (inlet and inlet.has("joined_by") and inlet.joined_by == "fixed wiring")

    def _battery_remark(self) -> str:
        if not self.job.placement.has("battery"):
            return "whether there is a battery is not known"
        battery = self.job.battery
        assert battery is not None  # noqa: S101 - `has` said so
        if battery.has("isolates") and battery.isolates == "suitable for isolation":
            return ""
        self.doubtful = True
        return "not stated to isolate: what it feeds counts as alive"

    def _pv_remark(self) -> str:
        placed = self.job.placement
        if not placed.has("pv"):
            return "whether there is PV is not known"
        array = self.job.pv
        own = array is not None and array.has("coupling") and array.coupling == "a.c."
        if own and placed.pv is not None and placed.pv.has("connected_to"):
            return f"and its own inverter's device in {placed.pv.connected_to}"
        return ""

    def _step(self, does: str, what: str, remark: str = "") -> DeadStep:
        return DeadStep(does=does, what=what, remark=remark, left=self._left())

    def _left(self) -> dict[str, str]:
        state = (GRID if self.stopped else GRID_FEEDING).but("on the way", opened=self.opened)
        volts = place_volts(self.net.solved(state))
        places = ["supply", *self.job.boards, GRID_SIDE, HOUSE_SIDE, INVERTER]
        left = {"service": ALIVE}
        for place in places:
            alive = volts.get(place, 0.0) >= DEAD_BELOW_V
            left[place] = ALIVE if alive else DEAD
        if left[INVERTER] == DEAD and not self.waited:
            left[INVERTER] = EMPTYING
        left[DC_SIDE] = self._dc_side()
        if self.inlet:
            left[GENERATOR] = self._at_the_inlet(left)
        if self.had:
            left[DC_SOURCES] = ALIVE
        return left

    def _at_the_inlet(self, left: dict[str, str]) -> str:
        """Its pins may be fed by the generator, and by the house where nobody rules that out."""
        if not self.unplugged:
            return EMPTYING
        inlet = self.job.generator if self.job.gap("generator") is None else None
        if inlet is not None and inlet.has("pins") and inlet.pins == "dead":
            return DEAD
        known = inlet is not None and inlet.has("feeds")
        boards = [inlet.feeds] if inlet is not None and known else list(self.job.boards)
        return ALIVE if ALIVE in map(left.get, boards) else DEAD

    def _dc_side(self) -> str:
        if self.direct:
            return ALIVE
        return DEAD if self.waited and not self.doubtful else EMPTYING


def supply_isolators(job: Job) -> Iterator[tuple[str, str, str]]:
    """What cuts the public supply off: main switches of the first boards, else the main fuse.

    Yields
    ------
    words, contact group of the network, what the job says against relying on it
    """
    first = [c.to for c in job.cables.values() if c.from_ == "supply"]
    boards = [name for name in first if name in job.boards]
    switched = all(job.boards[name].has("main_switch") for name in boards)
    if not boards or len(boards) < len(first) or not switched:
        yield "the main fuse", "main fuse", "it may be the operator's alone to open"
        return
    for name in boards:
        switch = job.boards[name].main_switch
        assert switch is not None  # noqa: S101 - `has` said so
        good = switch.has("isolates") and switch.isolates == "suitable for isolation"
        leaves_n = switch.has("poles") and "N" not in switch.poles
        remarks = ["" if good else "not stated to isolate", "N stays joined" if leaves_n else ""]
        words = "; ".join(filter(None, remarks))
        yield f"the main switch of {name}", f"main switch {name}", words
