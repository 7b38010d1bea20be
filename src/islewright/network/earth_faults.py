"""The earth faults of one state: what flows, what people touch, what each device sees.

Belongs here: currents and voltages of faults under the inverter's limit. Does not belong
here: which device opens, and when (`race`).
"""

from __future__ import annotations

import copy
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from islewright.findings import Question
from islewright.job.gap import Unknown
from islewright.job.kinds import LINES
from islewright.job.model import Job
from islewright.network.alive import alive
from islewright.network.fault import Faults, Ports, line_currents
from islewright.network.fault_plan import At
from islewright.network.limit import (
    ALL_TOGETHER,
    EACH_BY_ITSELF,
    inverter_sources,
    limit_scale,
    limited_currents,
)
from islewright.network.places import MET
from islewright.network.solve import Solved
from islewright.network.state import Mode

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]


class EarthFaults:
    """All earth faults of one state, with the inverter's limit where it drives.

    What a fault leaves behind is worked out for all faults of one end at once, when the
    first of them is asked for.

    Attributes
    ----------
    amps : fault current of each chosen fault [A]
    x : whole solution, one column per chosen fault [V, A]
    limited : which of them the inverter's limit holds down
    limit_missing : what to ask where the limit is not stated; the figures are then worth nothing
    """

    def __init__(self, job: Job, solved: Solved, ports: Ports) -> None:
        self.job, self.solved, self.ports = job, solved, ports
        self.faults = Faults(solved, ports)
        self.limit_missing: tuple[Question, ...] = ()
        self.rows = self.chosen()
        self.limit_phases(job.inverter.limits if job.inverter.has("limits") else ALL_TOGETHER)

    def limit_phases(self, how: str) -> None:
        """Hold the inverter's phases down, each by itself or all together."""
        scale = self._scale(how)
        self.limited: NDArray[np.bool_] = np.zeros(len(self.rows), dtype=bool)
        if scale is None:
            self.port_amps = self.faults.current[self.rows]
        else:
            self.limited = np.any(scale < 1 - 1e-9, axis=1)
            self.port_amps = limited_currents(self.faults, scale, self.rows)
        self.scale: NDArray[np.complex128] | None = None if scale is None else scale.astype(complex)
        self.amps = line_currents(self.port_amps)
        self._sights: dict[str, Sight] = {}

    @cached_property
    def other(self) -> EarthFaults | None:
        """The same faults limited the other way, where the maker has not said which it is.

        None where that is stated, or makes no difference: without limit, or with one phase.
        """
        if self.scale is None or self.job.inverter.has("limits"):
            return None
        if len(inverter_sources(self.faults)) < 2:
            return None
        twin = copy.copy(self)
        twin.__dict__.pop("x", None)
        twin.__dict__.pop("told_a", None)
        twin.limit_phases(EACH_BY_ITSELF)
        return twin

    def chosen(self) -> Integers:
        """Which of the faults these are: rows of the ports."""
        return self.ports.plan.to_earth

    def limit_a(self) -> float:
        """The inverter's limit in such a fault, r.m.s. of a pole [A].

        Raises
        ------
        Unknown : the maker's sheet does not state it
        """
        return float(self.job.inverter.fault_current.to_earth_a)

    def _scale(self, how: str) -> NDArray[np.float64] | None:
        if self.solved.state.inverter != "forming":
            return None
        try:
            limit = self.limit_a()
        except Unknown as gap:
            self.limit_missing = gap.questions
            return None
        return limit_scale(self.faults, limit, how, self.rows)

    @cached_property
    def x(self) -> Complex:
        """Whole core solution (u, faults)."""
        return self.faults.unknowns(self.rows, self.scale)

    def worst(self, place: str, end: str) -> At | None:
        """The earth fault at a place with the smallest current; None when it is not fed."""
        found = self.at(place, end)
        if len(found) < 2:
            return found[0] if found else None
        amps = self.told_a
        return min(found, key=lambda at: amps[at.column])

    @cached_property
    def told_a(self) -> list[float]:
        """Fault current of each chosen fault, as plain figures [A]."""
        told: list[float] = self.amps.tolist()
        return told

    def at(self, place: str, end: str) -> list[At]:
        """The earth faults of every fed line at one end of a circuit or cable."""
        return self._at.get((place, end), [])

    @cached_property
    def _every(self) -> dict[tuple[str, str], list[At]]:
        """The faults by place and end, fed or not."""
        plan = self.ports.plan
        return plan.earth_ends if self.rows is plan.to_earth else plan.ends_of(self.rows)

    @cached_property
    def _at(self) -> dict[tuple[str, str], list[At]]:
        every = self._every
        if self.solved.state.mode is not Mode.ISLAND:
            return every
        fed: dict[str, tuple[str, ...] | None] = {}
        for place, _ in every:
            if place not in fed:
                fed[place] = self._fed(place)
        return {
            there: found if (lines := fed[there[0]]) is None
            else [at for at in found if at.kind.partition("-")[0] in lines]
            for there, found in every.items()
        }  # fmt: skip

    def _fed(self, place: str) -> tuple[str, ...] | None:
        """Lines that the island feeds there; None where any may be fed."""
        word, _, name = place.partition(" ")
        part = self.job.circuits[name] if word == "circuit" else self.job.cables[name]
        try:
            fed = alive(self.job, part, LINES)
        except Unknown:
            return None
        return None if fed == LINES else fed

    def sight(self, at: At) -> Sight:
        """What all faults of the same end leave behind."""
        if at.end not in self._sights:
            every = self._every.items()
            found = [one.column for (_, end), ats in every if end == at.end for one in ats]
            self._sights[at.end] = Sight(self, np.array(found, dtype=np.intp))
        return self._sights[at.end]

    def touch_v(self, at: At) -> tuple[float, float]:
        """Exposed part to the main earthing terminal, and to true earth [V]."""
        sight = self.sight(at)
        k = sight.column[at.column]
        return sight.touch_v[k], sight.to_earth_v[k]


class Sight:
    """What some faults leave behind; every list has one figure per fault.

    Attributes
    ----------
    column : place of a fault in the lists, by its column among all earth faults
    touch_v, to_earth_v : exposed part to the main earthing terminal, and to true earth [V]
    own_residual_a : residual current through the circuit's own device [A]
    """

    def __init__(self, faults: EarthFaults, columns: Integers) -> None:
        self._solved = solved = faults.solved
        self.column = {int(column): k for k, column in enumerate(columns)}
        rows, port = faults.rows[columns], faults.port_amps[columns]
        scale = None if faults.scale is None else faults.scale[columns]
        self._x = x = faults.faults.unknowns(rows, scale)
        ports = faults.ports
        here = x[ports.nodes[rows], np.arange(len(rows))[:, None]]
        part = (ports.pe_weights[rows] * here).sum(axis=1)
        part += (ports.pe_local[rows] * port).sum(axis=1)
        self.touch_v: list[float] = np.abs(part - x[solved.at(MET, "PE")]).tolist()
        self.to_earth_v: list[float] = np.abs(part).tolist()
        stub_y = ports.terminals.y[ports.plan.row[rows]]
        drawn = (stub_y @ here[:, :, None] + ports.weights[rows] @ port[:, :, None])[:, :, 0]
        total = np.where(ports.live[rows], drawn, 0).sum(axis=1)
        self.own_residual_a: list[float] = np.abs(total).tolist()
        self._residual_a: dict[str, list[float]] = {}
        self._pole_a: dict[str, list[float]] = {}
        self._volts: dict[tuple[str, str], list[float]] = {}

    def residual_a(self, group: str) -> list[float]:
        """Sum of the currents of a contact group [A]."""
        if group not in self._residual_a:
            self._residual_a[group] = np.abs(self._poles(group).sum(axis=0)).tolist()
        return self._residual_a[group]

    def pole_a(self, group: str) -> list[float]:
        """Largest current of a contact group [A]."""
        if group not in self._pole_a:
            largest = np.abs(self._poles(group)).max(axis=0, initial=0.0)
            self._pole_a[group] = largest.tolist()
        return self._pole_a[group]

    def _poles(self, group: str) -> Complex:
        return self._x[self._solved.layout.shape.poles.get(group, [])]

    def volts(self, place: str, line: str) -> list[float]:
        """Line to neutral at a bar [V]; NaN where the bar has no such conductor."""
        if (place, line) not in self._volts:
            index = self._solved.parts.index
            a, b = index.get(f"{place}.{line}"), index.get(f"{place}.N")
            none = a is None or b is None
            across = np.full(self._x.shape[1], np.nan) if none else self._x[a] - self._x[b]
            self._volts[place, line] = np.abs(across).tolist()
        return self._volts[place, line]
