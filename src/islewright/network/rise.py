"""What lifts the protective conductor: open PEN, a line on the soil, a neutral astray.

Loads stand here as impedances, lumped at their boards at the demand: behind a broken
neutral a constant current would be nonsense. The result is the earthing terminal's voltage
to true earth; what is assumed stands beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from islewright.job.model import Job
from islewright.network.loads import LoadFlow
from islewright.network.parts import Change
from islewright.network.places import MET
from islewright.network.solve import Network
from islewright.network.state import GRID, ISLAND, ISLAND_GRID_BACK, Mode, State
from islewright.network.way import cables_to
from islewright.tables.profile import Profile


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """Voltage of the earthing terminal to true earth in one mishap.

    Attributes
    ----------
    case : the mishap, in words
    mode : "grid mode" or "island mode"
    met_v : earthing terminal to true earth [V]
    electrode_a : current into the house's own electrode [A]; NaN without one
    because : what the figure rests on, in words
    """

    case: str
    mode: str
    met_v: float
    electrode_a: float
    because: str


def rises(
    job: Job, net: Network, profile: Profile, demand_va: Mapping[str, Mapping[str, float]]
) -> tuple[Rise, ...]:
    """Every mishap that this house can meet, solved.

    Parameters
    ----------
    demand_va : board -> line -> demand [VA], as far as it is known
    """
    found = []
    if job.supply.system_earthing == "TN-C-S":
        found += _open_pen(job, net, demand_va)
    found += _line_on_soil(job, net, profile)
    return tuple(found)


def _loads(
    job: Job, demand_va: Mapping[str, Mapping[str, float]], mode: Mode
) -> tuple[Change, ...]:
    """Each board's demand as a resistance from line to neutral."""
    u0 = float(job.supply.nominal_voltage_v)
    return tuple(
        Change("join", f"load {board} {line}", f"{board}.{line}", f"{board}.N", u0 * u0 / va)
        for board, lines in demand_va.items()
        if cables_to(job, board, mode) is not None
        for line, va in lines.items()
        if va > 0
    )


def _open_pen(job: Job, net: Network, demand_va: Mapping[str, Mapping[str, float]]) -> list[Rise]:
    house = _loads(job, demand_va, Mode.GRID)
    cut_off = ISLAND_GRID_BACK
    neighbours, told = _neighbours(job)
    at_service = Change("open", "service N")
    in_street = Change("open", "street N")
    service, alone = "PEN open at the service", "PEN open in the street, the house an island"
    return [
        _solved(net, service, GRID, (at_service, *house), "own loads only"),
        _worst(net, "PEN open in the street", GRID, (in_street, *house), neighbours, told),
        _worst(net, alone, cut_off, (in_street,), neighbours, told),
    ]


def _neighbours(job: Job) -> tuple[tuple[Change, ...], str]:
    """Neighbours' load on each line in turn: all on one is the worst that a power can do."""
    watts = job.supply.street.figure("neighbours_load_w") if job.supply.has("street") else None
    if not watts:
        return (), "neighbours' load not stated: the figure is that of the house alone"
    u0 = float(job.supply.nominal_voltage_v)
    changes = tuple(
        Change("join", "neighbours", f"street.{line}", "street.N", u0 * u0 / watts)
        for line in job.phases
    )
    return changes, f"neighbours' {watts / 1000:g} kW all on one line"


def _worst(
    net: Network,
    case: str,
    state: State,
    changes: tuple[Change, ...],
    ways: tuple[Change, ...],
    because: str,
) -> Rise:
    """The mishap with that one of some further changes that lifts the terminal most."""
    found = [_solved(net, case, state, (*changes, way), because) for way in ways]
    if not found:
        return _solved(net, case, state, changes, because)
    return max(found, key=lambda rise: rise.met_v)


def _line_on_soil(job: Job, net: Network, profile: Profile) -> list[Rise]:
    ohm = float(profile.number("network.line_on_soil"))
    because = f"{ohm:g} Ω from the line into the soil (assumed)"
    found = []
    for state in (GRID, ISLAND):
        mode = state.mode or Mode.GRID
        board = next((b for b in job.boards if cables_to(job, b, mode) is not None), None)
        if board is None:
            continue
        lies = tuple(
            Change("join", "line on the soil", f"{board}.{line}", "earth", ohm)
            for line in job.phases
        )
        case = "a line lies on the soil"
        found.append(_worst(net, case, state, (), lies, because))
        brought = {"TN-C-S": "service N", "TN-S": "service PE"}.get(job.supply.system_earthing)
        if brought and state is ISLAND:
            # an island must not rely on the operator's earth (551.4.3.2.1)
            gone = (Change("open", brought),)
            case = f"{case}, the operator's earth gone"
            found.append(_worst(net, case, state, gone, lies, because))
    return found


def _solved(
    net: Network, case: str, state: State, changes: tuple[Change, ...], because: str
) -> Rise:
    solved = net.solved(state.but(f"{state.name}: {case}", changes=changes))
    electrode = float("nan")
    if any(core.name == "electrode" for core in solved.parts.cores):
        electrode = abs(solved.core_current("electrode"))
    return Rise(
        case=case,
        mode=state.mode.value if state.mode else "",
        met_v=abs(solved.voltage(MET, "PE")),
        electrode_a=electrode,
        because=because,
    )


def astray(job: Job, flow: LoadFlow, mode: Mode) -> tuple[Rise, ...]:
    """Neutrals that lie on another bar: what their load current does to the earthing terminal.

    Parameters
    ----------
    flow : the mode's governing state with its loads on
    """
    found = []
    for name, circuit in job.circuits.items():
        fed = cables_to(job, circuit.board, mode) is not None
        if circuit.has("neutral_at") and circuit.neutral_at != circuit.board and fed:
            met = flow.x[flow.solved.at(MET, "PE")]
            found.append(
                Rise(
                    case=f"neutral of {name} on {circuit.neutral_at}",
                    mode=mode.value,
                    met_v=float(abs(met)),
                    electrode_a=abs(flow.solved.core_current("electrode", x=flow.x))
                    if job.earthing.has("electrode")
                    else float("nan"),
                    because="all loads at their demand",
                )
            )
    return tuple(found)
