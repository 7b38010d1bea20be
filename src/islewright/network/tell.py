"""Each supply state in words and positions, for drawings, papers and the command line."""

from __future__ import annotations

from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.network.joints import Joints
from islewright.network.race import system_of
from islewright.network.sheet import StateSheet
from islewright.network.solve import Network, Solved
from islewright.network.state import STATES, Mode, State
from islewright.network.way import reaches_inverter

#: a place with less to true earth than this is called dead [V]
DEAD_BELOW_V = 5.0


def sheets(job: Job, net: Network) -> tuple[StateSheet, ...]:
    """Every state that this house has, told."""
    return tuple(sheet(job, net, state) for state in states_of(job))


def states_of(job: Job) -> tuple[State, ...]:
    """States of a house; bypass only where there is one, PV only where there is some."""
    bypass = job.switch.has("bypass_poles")
    pv = job.placement.has("pv")
    return tuple(
        state for state in STATES
        if not (state.switch == "bypassed" and not bypass)
        and not (state.name == "island, with PV" and not pv)
    )  # fmt: skip


def sheet(job: Job, net: Network, state: State) -> StateSheet:
    """One state, told."""
    solved = net.solved(state)
    volts = place_volts(solved)
    alive: dict[str, bool | None] = {place: v >= DEAD_BELOW_V for place, v in volts.items()}
    for key in net.parts.missing:
        if key.startswith("circuit "):
            board = job.circuits[key.removeprefix("circuit ")].board
            alive[key] = alive.get(board)
        if key.startswith("place "):
            alive[key.removeprefix("place ")] = None
    return StateSheet(
        name=state.name,
        mode=state.mode.value if state.mode else "dead",
        closed={b.name: bool(c) for b, c in zip(solved.parts.branches, solved.closed, strict=True)
                if b.kind in ("pole", "bond", "link") and not b.group.startswith("device ")},
        alive=alive,
        volts=volts,
        fed_by=_fed_by(job, net, state),
        system=_system(job, state),
        neutral_earthed_at=_earthed(job, net, state),
        bond=_bond(job, solved),
        means_of_earthing=_means(job, state),
        always_alive=_always(job),
    )  # fmt: skip


def place_volts(solved: Solved) -> dict[str, float]:
    """Largest voltage of a line to true earth at each place [V]."""
    found: dict[str, float] = {}
    for name, i in solved.parts.index.items():
        place, _, conductor = name.rpartition(".")
        if conductor.startswith("L"):
            found[place] = max(found.get(place, 0.0), float(abs(solved.x[i])))
    for batch in solved.layout.stubs:
        for row, i in enumerate(batch.circuits):
            lines = [k for k, c in enumerate(batch.conductors[row]) if c.startswith("L")]
            inner = batch.t[row] @ solved.x[batch.att[row]]
            found[f"circuit {solved.parts.stubs[i].circuit}"] = float(
                max((abs(inner[k]) for k in lines), default=0.0)
            )
    for inline in solved.parts.inlines:
        lines = [
            n for n, c in zip(inline.near, inline.conductors, strict=True) if c.startswith("L")
        ]
        found[f"circuit {inline.circuit}"] = float(max(abs(solved.x[n]) for n in lines))
    return found


def _fed_by(job: Job, net: Network, state: State) -> str:
    sources = []
    if state.grid == "on" and state.name != "everything open":
        sources.append("the public supply")
    reached = reaches_inverter(job)
    if state.inverter == "feeding" and reached:
        sources.append("the inverter")
    if state.inverter == "forming" and reached:
        through = state.pv == "feeding" and not _beside_the_inverter(job)
        sources.append("the inverter on battery and PV" if through else "the inverter")
    if any(state.runs(feed.group) and feed.group != "inverter" for feed in net.parts.feeds):
        sources.append("the PV array")
    if state.inverter == "forming" and not sources:
        return "nothing, as no cable reaches the inverter"
    return " and ".join(sources) or "nothing"


def _beside_the_inverter(job: Job) -> bool:
    """Whether PV has an inverter of its own, coupled at a.c."""
    array = job.pv if job.placement.has("pv") else None
    return array is not None and array.has("coupling") and array.coupling == "a.c."


def _system(job: Job, state: State) -> str:
    if state.mode is Mode.ISLAND and not reaches_inverter(job):
        return "none, as nothing is fed"
    try:
        return system_of(job, state)
    except Unknown:
        return "not known"


def _earthed(job: Job, net: Network, state: State) -> str:
    """Where each board's neutral is joined to earth; one answer where all agree."""
    if "bond" in net.parts.missing:
        return "not known: the bond is not stated"
    joints = Joints(net, state)
    told = {board: " and ".join(joints.of(board)) or "nowhere" for board in job.boards}
    if len(set(told.values())) == 1:
        return next(iter(told.values()))
    return "; ".join(f"{board}: {where}" for board, where in told.items())


def _bond(job: Job, solved: Solved) -> str:
    words = {"bond": "in the islanding switch", "inverter bond": "in the inverter"}
    found = []
    for branch, closed in zip(solved.parts.branches, solved.closed, strict=True):
        if branch.group in words:
            found.append(f"{'closed' if closed else 'open'}, {words[branch.group]}")
    if found:
        return "; ".join(found)
    if job.switch.gap("bond") is not None:
        return "not known"
    return "there is none"


def _means(job: Job, state: State) -> str:
    earthing = job.earthing
    field = "in_island_mode" if state.mode is Mode.ISLAND else "in_grid_mode"
    if earthing.gap(field) is not None:
        return "not known"
    words = str(getattr(earthing, field))
    if (
        earthing.has("electrode")
        and earthing.electrode is not None
        and earthing.electrode.has("resistance_ohm")
    ):
        ohm = f"{earthing.electrode.resistance_ohm:g} Ω"
        words += (
            f" of {ohm}"
            if words == "local electrode"
            else f", with the electrode of {ohm} beside it"
        )
    return words


def _always(job: Job) -> tuple[str, ...]:
    found = ["the service up to the main fuse, until the operator opens it"]
    if job.placement.has("battery"):
        found.append("d.c. terminals of the battery")
    if job.placement.has("pv"):
        found.append("d.c. cables of the PV array while there is light")
    return tuple(found)
