"""A job, studied: its network solved where a question needs it, its rules run.

Belongs here: what rules and papers ask of a job, each worked out once.
Does not belong here: any rule, running them (`runner`).
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import Any

from islewright.collector import collector_paused
from islewright.findings import WEIGHT, Finding, Question, Status
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.job.questions import RankedQuestion, rank
from islewright.network.alive import island_has_board
from islewright.network.build import build
from islewright.network.earth_faults import EarthFaults
from islewright.network.fault import Ports
from islewright.network.follow import OneFault, followed, race, story
from islewright.network.isolate import Isolation, isolations
from islewright.network.joints import Joints
from islewright.network.loads import LoadFlow, Reach
from islewright.network.rise import Rise, astray, rises
from islewright.network.sheet import Assumption, RaceRow, StateSheet
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, Mode, State
from islewright.network.tell import sheets
from islewright.network.way import cables_to, is_backed_up, reaches_inverter
from islewright.rules.demand import (
    bounded_current_a,
    design_current_a,
    line_demand_a,
    loads_va,
)
from islewright.rules.once import once_a_study
from islewright.rules.registry import Here
from islewright.rules.stain import stains
from islewright.tables.profile import Profile, profile

#: told where the maker has not said how the phases limit
EITHER_LIMIT = "how the phases limit is not stated: both ways worked out, the worse counts"


def _weight(finding: Finding) -> int:
    return WEIGHT[finding.verdict.status]


def _no_fault(here: Here) -> Unknown:
    """A place without an earth fault in the network: its conductors do not allow one."""
    return Unknown(Question(field=f"{here.kind}s.{here.name}", ask="Which conductors has it?"))


class Study:
    """Everything that follows from a job under one profile.

    Attributes
    ----------
    job, profile : what is judged, and by whose rules
    """

    __slots__ = ("__dict__", "__weakref__", "_findings")

    def __init__(self, job: Job, rules: Profile) -> None:
        self._findings: tuple[Finding, ...] | None = None
        self.job, self.profile = job, rules
        #: what `once_a_study` has worked out, by function and arguments
        self.answers: dict[object, dict[tuple[object, ...], Any]] = {}

    # --- network ------------------------------------------------------------------------

    @cached_property
    def net(self) -> Network:
        """The network; its states are solved on first question.

        Raises
        ------
        Unknown : a fact without which no state at all can be solved
        """
        return Network(build(self.job, self.profile))

    @property
    def solvable(self) -> bool:
        """Whether enough is known to build the network at all."""
        try:
            return bool(self.net.parts.nodes)
        except Unknown:
            return False

    @cached_property
    def ports(self) -> Ports:
        """All single faults, with hot conductors."""
        return Ports(self.net.layout("hot"), 1)

    @cached_property
    def grid_faults(self) -> EarthFaults:
        """Earth faults in grid mode, minima (c_min, hot conductors)."""
        return self._earth_faults(GRID)

    @cached_property
    def island_faults(self) -> EarthFaults:
        """Earth faults in island mode at the inverter's limit."""
        return self._earth_faults(ISLAND)

    def _earth_faults(self, state: State) -> EarthFaults:
        c_min = float(self.profile.number("loop.c_min"))
        return EarthFaults(self.job, self.net.solved(state, factor=c_min), self.ports)

    def faults(self, mode: Mode) -> EarthFaults:
        """Earth faults of the state that governs a mode."""
        return self.grid_faults if mode is Mode.GRID else self.island_faults

    def story(self, here: Here, end: str = "far") -> RaceRow:
        """What happens on an earth fault there.

        Raises
        ------
        Unknown : a gap keeps the place out of the network, or stains what feeds it
        """
        self.clean(here)
        found = story(self.job, self.faults(here.mode), self.profile, here.part, end)
        if found is None:
            raise _no_fault(here)
        return found

    @once_a_study
    def followed(self, here: Here, end: str = "far") -> OneFault:
        """An earth fault at one end, worked out as far as it is asked for.

        Raises
        ------
        Unknown : a gap keeps the place out of the network, or stains what feeds it
        """
        self.clean(here)
        found = followed(self.job, self.faults(here.mode), self.profile, here.part, end)
        if found is None:
            raise _no_fault(here)
        return found

    def touch_v(self, here: Here) -> float:
        """Exposed part at the far end to the main earthing terminal, on the worst line [V]."""
        head, place = self.faults(here.mode), here.part
        ways = [head] if head.other is None else [head, head.other]
        return max(way.touch_v(at)[0] for way in ways for at in way.at(place, "far"))

    @once_a_study
    def joints(self, board: str, mode: Mode) -> list[str]:
        """Where the neutral of a board is joined to earth, in words."""
        return self._joints(mode).of(board)

    @once_a_study
    def _joints(self, mode: Mode) -> Joints:
        return Joints(self.net, GRID if mode is Mode.GRID else ISLAND)

    @property
    def first_backed_up(self) -> str:
        """The first board that the wiring keeps fed in island mode.

        Raises
        ------
        Unknown : none is
        """
        island_has_board(self.job)
        return next(board for board in self.job.boards if is_backed_up(self.job, board))

    @property
    def phase_va(self) -> float:
        """What the inverter gives continuously on one line [VA]."""
        inverter = self.job.inverter
        if inverter.output.startswith("single-phase"):
            return float(inverter.rated_va)  # also on bridged lines: one may take it all
        return float(inverter.phase_va)

    def clean(self, here: Here) -> None:
        """Raise `Unknown` where a gap stains every figure of a place."""
        why = stains(self, here)
        if why:
            raise Unknown(*why)

    def limiting_told(self, mode: Mode) -> list[str]:
        """What to add to the arithmetic where the maker has not said how the phases limit."""
        return [] if self.faults(mode).other is None else [EITHER_LIMIT]

    # --- loads ---------------------------------------------------------------------------

    @once_a_study
    def load_flow(self, mode: Mode) -> LoadFlow:
        """The state that governs a mode, every fed circuit at its demand factor times I_b.

        Raises
        ------
        Unknown : a board's demand factor is not stated
        """
        return self.loaded(GRID if mode is Mode.GRID else ISLAND)

    def loaded(self, state: State, *, without: str = "") -> LoadFlow:
        """A state with every circuit that it feeds at its demand factor times I_b.

        In a state that belongs to no mode nothing draws; a load that is not known draws what
        its device lets through, its rated current.

        Parameters
        ----------
        without : one circuit that draws nothing

        Raises
        ------
        Unknown : a board's demand factor is not stated
        """
        key = (state, without)
        if key not in self._flows:
            amps = {} if state.mode is None else {**self._demand_a(state.mode)}
            amps.pop(without, None)
            reach = self._reach(state)
            self._flows[key] = LoadFlow(self.job, reach.solved, amps, reach)
        return self._flows[key]

    @once_a_study
    def _demand_a(self, mode: Mode) -> dict[str, float]:
        """Demand of each circuit that a mode feeds [A]."""
        found = {}
        for name, circuit in self.job.circuits.items():
            if cables_to(self.job, circuit.board, mode) is not None:
                factor = float(self.job.boards[circuit.board].demand_factor)
                found[name] = factor * bounded_current_a(self.job, circuit)
        return found

    @once_a_study
    def _reach(self, state: State) -> Reach:
        return Reach(self.job, self.net.solved(state))

    @cached_property
    def _flows(self) -> dict[tuple[State, str], LoadFlow]:
        return {}

    @cached_property
    def unknown_loads(self) -> dict[str, Unknown]:
        """Circuits of which some load is not known, each with what is missing."""
        found = {}
        for name, circuit in self.job.circuits.items():
            try:
                design_current_a(self.job, circuit)
                loads_va(circuit)
            except Unknown as gap:
                found[name] = gap.with_traceback(None)  # which would hold the whole study
        return found

    # --- results ------------------------------------------------------------------------

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, heaviest first, then in the order of rules and file."""
        from islewright.rules.runner import run

        if self._findings is None:
            with collector_paused():
                self._findings = tuple(sorted(run(self._twin()), key=_weight))
        return self._findings

    def _twin(self) -> Study:
        """The same study to the rules: what they remember goes round no circle to the findings.

        Remedies and arithmetic that nobody has read yet hold the study that they ask; were it
        the one that holds the findings, none of it would go before the collector came by.
        """
        twin = Study(self.job, self.profile)
        twin.__dict__ = self.__dict__
        return twin

    @cached_property
    def counts(self) -> dict[Status, int]:
        """How many findings have each status."""
        return {s: sum(f.status is s for f in self.findings) for s in Status}

    @cached_property
    def states(self) -> tuple[StateSheet, ...]:
        """The supply states, told; none where the network cannot be built."""
        return sheets(self.job, self.net) if self.solvable else ()

    @cached_property
    def race(self) -> tuple[RaceRow, ...]:
        """What ends each earth fault in island mode; none where that cannot be told."""
        if self.race_missing:
            return ()
        return race(self.job, self.island_faults, self.profile)

    @cached_property
    def race_missing(self) -> tuple[Question, ...]:
        """What is not stated and keeps every fault of the island from being followed."""
        try:
            missing = self.net.parts.missing
        except Unknown as gap:
            return gap.questions
        if not reaches_inverter(self.job):
            ask = "Which cable joins the inverter? None does, so that the island feeds nothing."
            return (Question(field="cables", ask=ask),)
        found = [*missing.get("inverter", ()), *missing.get("bond", ())]
        return tuple(dict.fromkeys([*found, *self.island_faults.limit_missing]))

    @cached_property
    def zones(self) -> tuple[RaceRow, ...]:
        """Places where no RCD clears an earth fault in island mode."""
        return tuple(
            row
            for row in self.race
            if not any(bar.role == "RCD" and math.isfinite(bar.latest_s) for bar in row.bars)
        )

    @cached_property
    def rises(self) -> tuple[Rise, ...]:
        """What lifts the protective conductor, and how far."""
        if not self.solvable:
            return ()
        found = rises(self.job, self.net, self.profile, self._demand_va())
        for mode in Mode:
            try:
                found += astray(self.job, self.load_flow(mode), mode)
            except Unknown:
                continue
        return found

    def _demand_va(self) -> dict[str, dict[str, float]]:
        """Demand of each board on each line [VA], as far as it is stated."""
        found: dict[str, dict[str, float]] = {}
        for board in self.job.boards:
            try:
                amps = line_demand_a(self.job, [board])
            except Unknown:
                continue
            u0 = float(self.job.supply.nominal_voltage_v)
            found[board] = {line: a * u0 for line, a in amps.items()}
        return found

    @cached_property
    def isolations(self) -> tuple[Isolation, ...]:
        """What stays alive for each position of each isolator."""
        return isolations(self.job, self.net) if self.solvable else ()

    @cached_property
    def questions(self) -> tuple[RankedQuestion, ...]:
        """What is left to find out, by the number of findings that hang on it."""
        return tuple(rank(f.questions for f in self.findings))

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Figures that the model needs and the job does not state."""
        return tuple(self.net.parts.assumptions) if self.solvable else ()

    @property
    def not_covered(self) -> tuple[str, ...]:
        """What this program does not judge."""
        from islewright.rules.told import NOT_COVERED

        return NOT_COVERED

    def explain(self, finding: Finding) -> str:
        """A finding as one would write it by hand, with formula and clause."""
        from islewright.rules.told import by_hand

        return by_hand(finding)


def study(job: Job, *, profile_name: str | None = None) -> Study:
    """Study a job.

    Parameters
    ----------
    job : a job that was read
    profile_name : rule set to judge by; the job's own where left out

    Raises
    ------
    NotInTable : no such profile
    """
    return Study(job, profile(profile_name or job.head.profile))
