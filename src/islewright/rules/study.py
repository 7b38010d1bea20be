"""A job, studied: its network solved where a question needs it, its rules run.

Belongs here: what rules and papers ask of a job, each worked out once, and the runner.
Does not belong here: any rule.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from functools import cached_property

from islewright.findings import WEIGHT, Finding, Question, Status, Verdict
from islewright.job.gap import Unknown
from islewright.job.model import Cable, Job
from islewright.job.questions import RankedQuestion, rank
from islewright.network.build import build
from islewright.network.impedance import circuit_way, core_impedance
from islewright.network.places import INVERTER, MET, canonical
from islewright.network.fault import Ports
from islewright.network.isolate import Isolation, isolations
from islewright.network.loads import LoadFlow
from islewright.network.joints import joints_of
from islewright.network.race import EarthFaults, has_sockets, race, story, system_of
from islewright.network.rise import Rise, astray, rises
from islewright.network.sheet import Assumption, RaceRow, StateSheet
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, Mode, State
from islewright.network.tell import sheets
from islewright.network.way import cables_to, is_backed_up, source_end
from islewright.rules.demand import bounded_current_a, line_demand_a
from islewright.rules.registry import Here, Rule, all_rules
from islewright.tables.profile import NotStated, Profile, profile

NOT_COVERED = (
    "Arc flash, ventilation and gassing of the battery room, fire strategy, structure and fixings.",
    "Direct-current strings of the PV array and the battery's own protection.",
    "Short-circuit withstand, breaking capacity, surge arresters, arc-fault devices, vehicle charging.",
    "Lightning protection, data links, metering, the operator's consent.",
    "Existing cables that were not opened: their sizes and routes are as found at the boards.",
)


class Study:
    """Everything that follows from a job under one profile.

    Attributes
    ----------
    job, profile : what is judged, and by whose rules
    """

    def __init__(self, job: Job, rules: Profile) -> None:
        self.job, self.profile = job, rules

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
        key = (here.kind, here.name, here.mode, end)
        if key not in self._stories:
            row = story(
                self.job, self.faults(here.mode), self.profile, f"{here.kind} {here.name}", end
            )
            self._stories[key] = row
        found = self._stories[key]
        if found is None:
            raise Unknown(
                Question(field=f"{here.kind}s.{here.name}", ask="Which conductors has it?")
            )
        return found

    @cached_property
    def _stories(self) -> dict[tuple[str, str, Mode, str], RaceRow | None]:
        return {}

    def touch_v(self, here: Here) -> float:
        """Exposed part at the far end to the main earthing terminal, on the worst line [V]."""
        faults = self.faults(here.mode)
        return max(faults.touch_v(at)[0] for at in faults.at(f"{here.kind} {here.name}", "far"))

    def joints(self, board: str, mode: Mode) -> list[str]:
        """Where the neutral of a board is joined to earth, in words."""
        return joints_of(self.net, GRID if mode is Mode.GRID else ISLAND, board)

    def allowed_s(self, here: Here, system: str) -> float:
        """Time that Table 41.1, or 411.3.2.3 to 4 for a cable, allows a place [s].

        Parameters
        ----------
        system : "TN" or "TT", that of the state that is judged

        Raises
        ------
        Unknown : the circuit's use or its device is not stated
        """
        u0 = float(self.job.supply.nominal_voltage_v)
        final = here.kind == "circuit"
        sockets, i_n = False, math.inf
        if final:
            circuit = self.job.circuits[here.name]
            sockets, i_n = has_sockets(circuit), float(circuit.device.i_n_a)
        return float(self.profile.disconnection_time_s(
            system, u0_v=u0, final=final, sockets=sockets, i_n_a=i_n))  # fmt: skip

    @cached_property
    def shortest_allowed_s(self) -> float:
        """The shortest time that is allowed anywhere in the island [s]."""
        u0 = float(self.job.supply.nominal_voltage_v)
        system = "TT" if system_of(self.job, ISLAND) == "TT" else "TN"
        return float(self.profile.disconnection_time_s(
            system, u0_v=u0, final=True, sockets=True, i_n_a=0.0))  # fmt: skip

    @property
    def first_backed_up(self) -> str:
        """The first board that the wiring keeps fed in island mode.

        Raises
        ------
        Unknown : none is
        """
        for board in self.job.boards:
            if is_backed_up(self.job, board):
                return board
        raise Unknown(Question(field="cables", ask="Which cable feeds a board in island mode?"))

    @property
    def phase_va(self) -> float:
        """What the inverter gives continuously on one line [VA]."""
        inverter = self.job.inverter
        if inverter.output.startswith("single-phase"):
            return float(inverter.rated_va)  # also on bridged lines: one may take it all
        return float(inverter.phase_va)

    def clean(self, here: Here) -> None:
        """Raise `Unknown` where a gap stains every figure of a place."""
        missing = self.net.parts.missing
        stained = [f"{here.kind} {here.name}", *self._on_the_way(here)]
        if here.mode is Mode.GRID:
            stained.append("supply")
            if self.job.supply.system_earthing in ("TT", "TN-S"):
                stained.append(MET)
            if self.job.supply.system_earthing == "TT":
                stained.append("electrode")
        else:
            stained += ["inverter", "bond"]
        why = [question for what in stained for question in missing.get(what, ())]
        if here.mode is Mode.ISLAND:
            why += self.island_faults.limit_missing
        if why:
            raise Unknown(*dict.fromkeys(why))

    def _on_the_way(self, here: Here) -> Iterator[str]:
        """Places and cables between a mode's source and a place."""
        cable = self.job.cables.get(here.name) if here.kind == "cable" else None
        ends = [here.board] if cable is None else [canonical(cable.from_), canonical(cable.to)]
        for end in ends:
            yield f"place {end}"
            for name, _ in cables_to(self.job, end, here.mode) or ():
                yield f"cable {name}"

    # --- sums by hand -------------------------------------------------------------------

    def loop_by_hand(self, here: Here) -> tuple[list[tuple[str, float]], float]:
        """Earth-fault loop of a circuit or cable in grid mode, hot: its parts [Ω], and its spread.

        The reading at the origin holds all parallel earths; every cable after it adds its
        line and its protective conductor.
        """
        z_e, spread = self.origin_loop("line_earth_ohm")
        board, own = here.board, []
        if here.kind == "circuit":
            circuit = self.job.circuits[here.name]
            both = circuit_way(circuit, "L")[0] + circuit_way(circuit, "PE")[0]
            own = [(here.name, abs(both))]
        else:
            cable = self.job.cables[here.name]
            near = source_end(self.job, cable, here.mode)
            board = next(e for e in map(canonical, (cable.from_, cable.to)) if e != near)
        way = cables_to(self.job, board, Mode.GRID) or []
        added = [(name, _cable_loop_ohm(cable)) for name, cable in way] + own
        share = float(self.profile.number("spread.length")) / 100
        length_part = share * sum(ohm for _, ohm in added)
        return [("Z_e", z_e), *added], math.hypot(spread, length_part)

    def origin_loop(self, field: str) -> tuple[float, float]:
        """Worse of the measured and declared loop at the origin, and its spread [Ω].

        Raises
        ------
        Unknown : neither is stated
        """
        supply = self.job.supply
        found = []
        for source, key in (("measured", "loop_reading"), ("declared", "declared")):
            if supply.has(source) and getattr(supply, source).has(field):
                value = getattr(getattr(supply, source), field)
                share = float(self.profile.number(f"spread.{key}")) / 100
                found.append((float(value), value.spread or value * share))
        if not found:
            _ = getattr(supply.measured, field)  # raises with its question
        return max(found)

    # --- loads ---------------------------------------------------------------------------

    def load_flow(self, mode: Mode) -> LoadFlow:
        """The state that governs a mode, every fed circuit at its demand factor times I_b.

        Raises
        ------
        Unknown : a board's demand factor is not stated
        """
        return self.loaded(GRID if mode is Mode.GRID else ISLAND)

    def loaded(self, state: State) -> LoadFlow:
        """A state with every circuit that it feeds at its demand factor times I_b.

        In a state that belongs to no mode nothing draws.

        Raises
        ------
        Unknown : a board's demand factor is not stated
        """
        if state not in self._flows:
            amps = {}
            for name, circuit in self.job.circuits.items() if state.mode else ():
                if cables_to(self.job, circuit.board, state.mode or Mode.GRID) is not None:
                    factor = float(self.job.boards[circuit.board].demand_factor)
                    amps[name] = factor * bounded_current_a(self.job, circuit)
            self._flows[state] = LoadFlow(self.job, self.net.solved(state), amps)
        return self._flows[state]

    @cached_property
    def _flows(self) -> dict[State, LoadFlow]:
        return {}

    def drop(self, here: Here, i_b: float) -> tuple[float, float]:
        """Voltage drop to the far end of a circuit at I_b [%], [V].

        Others draw their demand; from the origin, or from the inverter's terminals.
        """
        flow = self.load_flow(here.mode)
        circuit = self.job.circuits[here.name]
        factor = float(self.job.boards[circuit.board].demand_factor)
        source = "supply" if here.mode is Mode.GRID else INVERTER
        more = i_b - factor * bounded_current_a(self.job, circuit)
        volts, nominal = flow.drop_v(here.name, source, more_amps=more)
        return volts / nominal * 100, volts

    def own_drop_percent(self, here: Here) -> float:
        """The share of the drop that lies in the circuit's own cable [%]."""
        flow = self.load_flow(here.mode)
        circuit = self.job.circuits[here.name]
        bar = f"{circuit.board}/{circuit.behind}" if circuit.behind else circuit.board
        factor = float(self.job.boards[circuit.board].demand_factor)
        i_b = bounded_current_a(self.job, circuit)
        volts, nominal = flow.drop_v(here.name, bar, more_amps=i_b * (1 - factor))
        return volts / nominal * 100

    def neutral_current_a(self, board: str) -> tuple[float, list[tuple[str, float, float]]]:
        """Neutral current of a board's feeder in island mode [A], and the line currents.

        Returns
        -------
        |I_N|, and (line, A, degrees) of each line; angles are those of the state
        """
        solved = self.net.solved(ISLAND)
        x = self.load_flow(Mode.ISLAND).x
        way = cables_to(self.job, board, Mode.ISLAND) or []
        name, cable = way[-1]
        lines = []
        for line in (c for c in cable.cores if c.startswith("L")):
            amps = solved.core_current(f"cable {name} {line}", x=x)
            lines.append((line, abs(amps), math.degrees(cmath.phase(amps))))
        return abs(solved.core_current(f"cable {name} N", x=x)), lines

    # --- results ------------------------------------------------------------------------

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, heaviest first, then in the order of rules and file."""
        return tuple(sorted(run(self), key=lambda f: WEIGHT[f.status]))

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
        """What ends each earth fault in island mode; none where it cannot be built."""
        if not self.solvable:
            return ()
        return race(self.job, self.island_faults, self.profile)

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
        return NOT_COVERED

    def explain(self, finding: Finding) -> str:
        """A finding as one would write it by hand, with formula and clause."""
        rule = next(r for r in all_rules() if r.id == finding.rule)
        lines = [str(finding), "", f"  {rule.formula}", *(f"  {line}" for line in finding.because)]
        if finding.verdict.means:
            lines += ["", finding.verdict.means]
        lines += [f"Remedy: {text}" for text in finding.remedies]
        lines += [f"Find out: {q.ask} ({q.field}; ask {q.whom})" for q in finding.questions]
        lines += ["", "; ".join(finding.clauses), f"{finding.profile}; state: {finding.state}"]
        if finding.verdict.confirmed:
            lines.append(f"limit confirmed: {finding.verdict.confirmed}")
        return "\n".join(lines)


def _cable_loop_ohm(cable: Cable) -> float:
    """Line and protective conductor of a cable, hot [Ω]."""
    made = cable.material, cable.insulation
    line = core_impedance(*made, cable.size_mm2, cable.length_m)[0]
    if "PE" not in cable.cores and "PEN" not in cable.cores:
        return abs(line)  # TT: the earth does not come along this cable
    pe = cable.pe_mm2 if "PE" in cable.cores else None
    return abs(line + core_impedance(*made, pe or cable.size_mm2, cable.length_m)[0])


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


def run(of: Study) -> Iterator[Finding]:
    """Run every rule over every place and mode it speaks of."""
    label = f"{of.profile.name}, {of.profile.edition}"
    for rule in all_rules():
        for here in places(of.job, rule):
            verdict = judge(of, rule, here)
            if verdict is not None:
                state = GRID if here.mode is Mode.GRID else ISLAND
                yield Finding(
                    rule=rule.id, title=rule.title, clauses=rule.clauses, place=here.place,
                    mode=here.mode.value, state=verdict.state or state.name, verdict=verdict,
                    profile=label,
                )  # fmt: skip


#: tests set this, so that a crash in a rule fails there and is not told as a finding
CRASHES_RAISE = False


def judge(of: Study, rule: Rule, here: Here) -> Verdict | None:
    """One rule at one place; what is missing makes it undecided, and so does a crash.

    A crash is a mistake of this program: the user gets *undecided* and is told so, and the
    other rules go on. Tests raise it (`CRASHES_RAISE`).
    """
    try:
        return rule.body(of, here)
    except Unknown as gap:
        return Verdict(status=Status.UNDECIDED, questions=gap.questions,
                       because=tuple(f"{q.field}: not known" for q in gap.questions))  # fmt: skip
    except NotStated as gap:
        return Verdict(status=Status.UNDECIDED, because=(str(gap),))
    except Exception as crash:
        if CRASHES_RAISE:
            raise
        return Verdict(
            status=Status.UNDECIDED,
            because=(f"defect of this program in {rule.id}: {type(crash).__name__}: {crash}",),
            means="This program failed here; judge this by hand, and report it.",
        )


def places(job: Job, rule: Rule) -> Iterator[Here]:
    """Where a rule looks, in the order of the file."""
    for mode in rule.modes:
        if rule.over == "house":
            yield Here("house", "house", mode)
        elif rule.over == "circuits":
            for name, circuit in job.circuits.items():
                if cables_to(job, circuit.board, mode) is not None:
                    yield Here("circuit", name, mode, circuit.board)
        elif rule.over == "cables":
            for name, cable in job.cables.items():
                if all(
                    cables_to(job, canonical(e), mode) is not None for e in (cable.from_, cable.to)
                ):
                    yield Here("cable", name, mode)
        else:
            for board_name, board in job.boards.items():
                if cables_to(job, board_name, mode) is None:
                    continue
                if rule.over == "boards":
                    yield Here("board", board_name, mode, board_name)
                for rcd in board.rcds if rule.over == "rcds" else ():
                    yield Here("rcd", rcd, mode, board_name)
