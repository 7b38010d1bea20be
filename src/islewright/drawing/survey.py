"""Read a job into the records of a drawing: boards, groups, rows, cables, letters of joints."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from islewright.drawing.inlet import generator_groups
from islewright.drawing.plan import (
    GRID,
    HOUSE,
    OUTPUT,
    PV_FEED,
    SUPPLY,
    BoardPlan,
    BondPlan,
    Group,
    Link,
    Plan,
    Row,
    joint_label,
)
from islewright.drawing.words import (
    NOT_KNOWN,
    battery_words,
    device_words,
    electrode_words,
    figure,
    inverter_words,
    known,
    laid_words,
    lines_and_neutral,
    lines_words,
    pv_board,
    pv_words,
    residual_words,
    supply_words,
)
from islewright.job.ways import conductors_at_switch

if TYPE_CHECKING:
    from islewright.job.device import Rcd
    from islewright.job.equipment import Inverter, IslandingSwitch
    from islewright.job.model import Board, Cable, Circuit, Job


def plan(job: Job) -> Plan:
    """Read the job once; every gap becomes the words "not known"."""
    links = tuple(_link(job, name, cable) for name, cable in job.cables.items())
    boards = tuple(_boards(job, links))
    switch = job.switch
    house = Plan(
        job=job.head.name,
        supply=supply_words(job),
        system=known(lambda: job.supply.system_earthing, ""),
        main_fuse=known(lambda: job.supply.main_fuse.name, NOT_KNOWN),
        splits_at=known(lambda: job.supply.pen_splits_at or "", NOT_KNOWN),
        electrode=electrode_words(job),
        three_phase=len(job.phases) > 1,
        lines=job.phases,
        switch_at=known(lambda: job.placement.islanding_switch.at, ""),
        poles=known(lambda: tuple(switch.switched_poles), ()),
        at_switch=conductors_at_switch(job),
        bypass=known(lambda: tuple(switch.bypass_poles or ()), ()),
        switch_bond=_bond(switch),
        inverter_bond=_bond(job.inverter),
        inverter=inverter_words(job),
        battery=battery_words(job),
        pv=pv_words(job),
        pv_board=pv_board(job),
        boards=boards,
        links=links,
    )
    return _joints(house)


def _bond(owner: IslandingSwitch | Inverter) -> BondPlan | None:
    """Neutral-earth bond of a piece of equipment; None only where it is said to have none."""

    def read() -> BondPlan | None:
        bond = owner.bond
        if bond is None:
            return None
        return BondPlan(
            at=known(lambda: bond.at, NOT_KNOWN),
            always=known(lambda: bond.closed == "always", False),
        )

    return known(read, BondPlan(at=NOT_KNOWN, always=False))


def _link(job: Job, name: str, cable: Cable) -> Link:
    device, is_breaker = device_words(lambda: cable.device)
    behind = known(lambda: cable.behind or "", "")
    return Link(
        name=name,
        start=cable.from_,
        end=cable.to,
        cores=laid_words(cable),
        length=known(lambda: figure(cable.length_m), "?"),
        lines=lines_words(core for core in cable.cores if core.startswith("L")),
        device=device,
        breaker=is_breaker,
        behind=behind,
        behind_words=known(lambda: residual_words(job.boards[cable.from_].rcds[behind]), "")
        if behind
        else "",
    )


def house_boards(job: Job) -> set[str]:
    """Boards that hang on the house side of the islanding switch, directly or by a board."""
    reached = {HOUSE, OUTPUT}
    while True:
        more = {c.to for c in job.cables.values() if c.from_ in reached} - reached
        if not more:
            return {name for name in job.boards if name in reached}
        reached |= more


def _boards(job: Job, links: tuple[Link, ...]) -> Iterable[BoardPlan]:
    house = house_boards(job)
    numbers = {name: str(n) for n, name in enumerate(job.circuits, 1)}
    for name, board in job.boards.items():
        switch, poles = _main_switch(board)
        yield BoardPlan(
            name=name,
            detail=_place(board),
            house=name in house,
            main_switch=switch,
            main_switch_poles=poles,
            groups=tuple(_groups(job, name, board, links, numbers)),
            feed=next((k for k in links if k.end == name), None),
        )


def _place(board: Board) -> str:
    at = known(lambda: board.at, "place not known")
    return at + known(lambda: f", busbar {figure(board.busbar_a)} A", "")


def _main_switch(board: Board) -> tuple[str, tuple[str, ...]]:
    def words() -> tuple[str, tuple[str, ...]]:
        switch = board.main_switch
        if switch is None:
            return "", ()
        poles = known(lambda: tuple(switch.poles), ())
        said = lines_and_neutral(poles) if poles else "poles not known"
        amps = known(lambda: f" {figure(switch.rated_current_a)} A", "")
        return f"main switch{amps}, {said}", poles

    return known(words, ("", ()))


def _groups(
    job: Job, name: str, board: Board, links: tuple[Link, ...], numbers: dict[str, str]
) -> Iterable[Group]:
    """RCD groups in the order of the board, then the rows without, by their own protection."""
    bundled = any(k.start == SUPPLY and k.end == name for k in links)
    feeders = [
        (k.behind, _feeder_row(k))
        for k in links
        if k.start == name and not (bundled and k.end == GRID)
    ]
    if pv_board(job) == name:
        feeders.append(("", _pv_row(name)))
    circuits = [(c_name, c) for c_name, c in job.circuits.items() if c.board == name]
    for rcd_name, rcd in known(lambda: board.rcds, {}).items():
        rows = [_row(job, n, c, numbers) for n, c in circuits if _behind(c) == rcd_name]
        rows += [row for behind, row in feeders if behind == rcd_name]
        if rows:
            yield Group(
                key=f"{name}/{rcd_name}",
                head=rcd_name,
                detail=_rcd(rcd),
                rcd=True,
                rows=tuple(rows),
            )
    kinds: dict[str, list[Row]] = {}
    for c_name, circuit in circuits:
        if _behind(circuit) not in known(lambda: board.rcds, {}):
            kinds.setdefault(_own(circuit), []).append(_row(job, c_name, circuit, numbers))
    for behind, row in feeders:
        if not behind:
            kinds.setdefault("", []).append(row)
    for head in sorted(kinds, key=lambda h: (h == "", h)):
        rows = kinds[head]
        yield Group(
            key=name,
            head="",
            detail=head or "no residual current device",
            rcd=False,
            rows=tuple(rows),
        )
    yield from generator_groups(job, name)


def _rcd(rcd: Rcd) -> str:
    return known(lambda: f"{figure(rcd.rating_a)} A, ", "") + residual_words(rcd)


def _behind(circuit: Circuit) -> str:
    return known(lambda: circuit.behind or "", "")


def _own(circuit: Circuit) -> str:
    """Head under which a circuit without a group stands."""

    def words() -> str:
        residual = circuit.device.residual
        return "" if residual is None else f"each its own, {residual_words(residual)}"

    return known(words, "residual current device not known")


def _row(job: Job, name: str, circuit: Circuit, numbers: dict[str, str]) -> Row:
    device, is_breaker = device_words(lambda: circuit.device)
    return Row(
        key=f"circuit {name}",
        number=numbers[name],
        name=name,
        lines=known(lambda: lines_words(job.lines_of(circuit)), "?"),
        device=device,
        cores=laid_words(circuit),
        length=known(lambda: figure(circuit.length_m), "?"),
        breaker=is_breaker,
        residual=known(lambda: circuit.device.residual is not None, False),
    )


def _feeder_row(link: Link) -> Row:
    place = link.end.partition("/")[0]
    return Row(
        key=link.end if "/" not in link.end else place,
        number="",
        name=f"to {place}",
        lines=link.lines,
        device=link.device,
        cores=link.cores,
        length=link.length,
        breaker=link.breaker,
        joint=link.end,
    )


def _pv_row(board: str) -> Row:
    """Where PV with an inverter of its own feeds in; the job says the board and no more."""
    return Row(key=board, number="", name="PV feeds in", lines="", device="", cores="", length="",
               joint=PV_FEED)  # fmt: skip


def _joints(house: Plan) -> Plan:
    """Give every place that a row leads to a letter, the same at both ends."""
    rows = [row for board in house.boards for group in board.groups for row in group.rows]
    places = [link.end for link in house.taps] + [row.joint for row in rows if row.joint]
    letters = {place: joint_label(n) for n, place in enumerate(dict.fromkeys(places))}
    boards = tuple(
        replace(
            board,
            joint=letters.get(board.name, ""),
            groups=tuple(
                replace(
                    group,
                    rows=tuple(
                        replace(row, joint=letters.get(row.joint, "")) for row in group.rows
                    ),
                )
                for group in board.groups
            ),
        )
        for board in house.boards
    )
    return replace(house, boards=boards, joints=letters)
