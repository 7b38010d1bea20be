"""What follows an earth fault: which device ends it, and when; a source that stops first wins.

Belongs here: one fault with all that can end it. Does not belong here: the times of a
device (`race`), whose is first (`order`), whether that is in time (`rules`).
"""

from __future__ import annotations

import dataclasses
import math
from functools import cached_property

from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.network.earth_faults import EarthFaults
from islewright.network.fault_plan import At
from islewright.network.order import alive_after, either, ranked_bars, worse_of
from islewright.network.places import canonical
from islewright.network.race import allowed_time_s, guards_at, inverter_bar, race_bar
from islewright.network.sheet import RaceBar, RaceRow
from islewright.network.state import Mode
from islewright.network.way import Guard, beyond, cables_to
from islewright.tables.profile import Profile


def story(job: Job, faults: EarthFaults, profile: Profile, place: str, end: str) -> RaceRow | None:
    """What happens on an earth fault at one end of a circuit or cable, all of it.

    Parameters
    ----------
    place : "circuit NAME" or "cable NAME"

    Returns
    -------
    the row, or None as in `followed`
    """
    found = followed(job, faults, profile, place, end)
    return None if found is None else found.row()


def followed(
    job: Job, faults: EarthFaults, profile: Profile, place: str, end: str
) -> OneFault | None:
    """The weakest earth fault at one end of a circuit or cable.

    Where the maker has not said how its phases limit, the worse of both ways.

    Returns
    -------
    the fault, or None where the place has no earth fault in the network (left out for a
    gap, or without conductors that could touch earth)
    """
    ways = [faults] if faults.other is None else [faults, faults.other]
    found = [
        Followed(job, way, profile, place, end, at)
        for way in ways
        if (at := way.worst(place, end)) is not None
    ]
    if len(found) < 2:
        return found[0] if found else None
    return EitherWay(*found)


class Followed:
    """One earth fault; what it leads to is worked out as far as it is asked for.

    The same names as in `RaceRow`, which `row` makes of it.
    """

    def __init__(
        self, job: Job, faults: EarthFaults, profile: Profile, place: str, end: str, at: At
    ) -> None:
        self.place, self.end = place, end
        self.current_a = faults.told_a[at.column]
        self.limited = bool(faults.limited[at.column])
        #: the conductors that touch, such as "L1-PE"
        self.kind = at.kind
        self._job, self._profile, self._state = job, profile, faults.solved.state
        self._mode = self._state.mode or Mode.GRID
        self._word, _, self._name = place.partition(" ")
        self.guards, self._bar = guards_at(job, self._word, self._name, self._mode)
        circuit = self._word == "circuit"  # a cable has no device that all of the fault is behind
        self._own = (f"device {self._name}", f"RCBO {self._name}") if circuit else ("", "")
        self._sight = faults.sight(at)
        self._k = self._sight.column[at.column]

    @property
    def ways(self) -> tuple[Followed, ...]:
        """Each way of limiting by itself; here the only one."""
        return (self,)

    @property
    def voltage_left_v(self) -> float:
        """Line to neutral at the board during the fault [V]."""
        return self.volts(self._bar)

    def volts(self, bar: str) -> float:
        """The faulted line to neutral at a bar [V]; NaN where it has no such conductor."""
        return self._sight.volts(bar, self.kind.partition("-")[0])[self._k]

    @property
    def touch_earth_v(self) -> float:
        """Exposed part to true earth [V]."""
        return self._sight.to_earth_v[self._k]

    def seen_a(self, guard: Guard) -> float:
        """Current that a device in the way sees: of a line, or residual [A].

        Before a circuit's own device lies all of it, before a device of a cable more.
        """
        branch, sight = guard.branch, self._sight
        if guard.role == "device":
            return self.current_a if branch == self._own[0] else sight.pole_a(branch)[self._k]
        seen = sight.own_residual_a if branch == self._own[1] else sight.residual_a(branch)
        return seen[self._k]

    @cached_property
    def allowed_s(self) -> float:
        """Time that Table 41.1 allows in the system of the state [s]; NaN where open."""
        return allowed_time_s(self._job, self._profile, self._state, self._word, self._name)

    @cached_property
    def bars(self) -> tuple[RaceBar, ...]:
        """Those that can end it, in the order of the guards, the inverter last; not ranked."""
        bars = [self.bar(guard) for guard in self.guards]
        if self._state.inverter == "forming":
            bars.append(inverter_bar(self._job, self.current_a, limited=self.limited))
        return tuple(bars)

    def bar(self, guard: Guard) -> RaceBar:
        """One of the guards, at the current that it sees."""
        away = self._word == "cable" and guard.branch in _away(self._job, self._name, self._mode)
        volts = self.volts(guard.bar) if guard.bar else math.nan
        return race_bar(guard, self.seen_a(guard), volts, away=away)

    def row(self) -> RaceRow:
        """All of it, told."""
        ranked = ranked_bars(self.bars)
        return RaceRow(
            place=self.place, kind=self.kind, end=self.end,
            current_a=self.current_a, limited=self.limited,
            voltage_left_v=self.voltage_left_v,
            touch_v=self._sight.touch_v[self._k], touch_earth_v=self.touch_earth_v,
            allowed_s=self.allowed_s,
            bars=ranked, alive_after=alive_after(ranked, self.guards),
            state=self._state.name,
        )  # fmt: skip


class EitherWay:
    """One earth fault where the inverter may limit in two ways: of every figure the worse."""

    def __init__(self, one: Followed, other: Followed) -> None:
        #: each way of limiting by itself
        self.ways = one, other
        self.place, self.guards = one.place, one.guards
        self.current_a = min(one.current_a, other.current_a)
        self.limited = one.limited or other.limited
        self.allowed_s = one.allowed_s

    @property
    def voltage_left_v(self) -> float:
        """Line to neutral at the board during the fault [V]."""
        return min(way.voltage_left_v for way in self.ways)

    @property
    def touch_earth_v(self) -> float:
        """Exposed part to true earth [V]."""
        return max(way.touch_earth_v for way in self.ways)

    @cached_property
    def bars(self) -> tuple[RaceBar, ...]:
        """Those that can end it, in the order of the guards, the inverter last; not ranked."""
        return tuple(map(either, *(way.bars for way in self.ways)))

    def bar(self, guard: Guard) -> RaceBar:
        """One of the guards, at the currents that it may see."""
        return either(*(way.bar(guard) for way in self.ways))

    def row(self) -> RaceRow:
        """All of it, told."""
        worse = worse_of(*(way.row() for way in self.ways))
        bars = ranked_bars(worse.bars)
        return dataclasses.replace(worse, bars=bars, alive_after=alive_after(bars, self.guards))


#: a fault as the rules see it
OneFault = Followed | EitherWay


def _away(job: Job, name: str, mode: Mode) -> frozenset[str]:
    """Contact groups that clear no fault on a cable; which, is asked by the rules."""
    try:
        return beyond(job, name, mode)
    except Unknown:
        return frozenset()


def race(job: Job, faults: EarthFaults, profile: Profile) -> tuple[RaceRow, ...]:
    """One row for the far end of each circuit and cable that this state feeds.

    None where the inverter's limit is not stated (`faults.limit_missing`).
    """
    if faults.limit_missing:
        return ()
    mode = faults.solved.state.mode or Mode.GRID
    rows = []
    for name, circuit in job.circuits.items():
        if cables_to(job, circuit.board, mode) is not None:
            rows.append(story(job, faults, profile, f"circuit {name}", "far"))
    for name, cable in job.cables.items():
        fed = [cables_to(job, canonical(end), mode) is not None for end in (cable.from_, cable.to)]
        if all(fed):
            rows.append(story(job, faults, profile, f"cable {name}", "far"))
    return tuple(row for row in rows if row is not None)
