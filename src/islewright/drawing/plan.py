"""What stands on a drawing, read out of the job in the words that are printed.

Belongs here: which boards, rows, devices and words there are, and a gap as "not known".
Does not belong here: where anything lies on the sheet, and positions or what is alive;
those are the state's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

from islewright.job.gap import Unknown

if TYPE_CHECKING:
    from islewright.job.device import Device, Residual
    from islewright.job.model import Board, Cable, Circuit, Job

T = TypeVar("T")
NOT_KNOWN = "not known"
GRID, HOUSE, OUTPUT = (f"islanding switch/{t}" for t in ("grid", "house", "inverter"))
SUPPLY = "supply"


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A cable between two places: its words, device, and RCD it lies behind."""

    name: str
    start: str
    end: str
    cores: str
    length: str
    lines: str = ""
    device: str = ""
    breaker: bool = True
    behind: str = ""
    behind_words: str = ""

    @property
    def words(self) -> str:
        """Device and cable as one text."""
        return ", ".join(part for part in (self.device, self.cable) if part)

    @property
    def cable(self) -> str:
        """Cores, size and length."""
        return f"{self.cores} mm², {self.length} m"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a board: a circuit, or a cable to another place (with a joint letter)."""

    key: str
    number: str
    name: str
    lines: str
    device: str
    cores: str
    length: str
    breaker: bool = True
    residual: bool = False
    joint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Rows behind one RCD, or with the same residual protection of their own."""

    key: str
    head: str
    detail: str
    rcd: bool
    rows: tuple[Row, ...]
    continued: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPlan:
    """A board: head, main switch, groups; `house` tells on which side of the switch it is."""

    name: str
    detail: str
    house: bool
    main_switch: str
    main_switch_poles: tuple[str, ...]
    groups: tuple[Group, ...]
    feed: Link | None
    joint: str = ""
    continued: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole house in words."""

    job: str
    supply: tuple[str, ...]
    system: str
    main_fuse: str
    splits_at: str
    electrode: str
    three_phase: bool
    lines: tuple[str, ...]
    switch_at: str
    poles: tuple[str, ...]
    bypass: tuple[str, ...]
    bond_at: str
    bond_always: bool
    inverter: tuple[str, ...]
    battery: str
    pv: str
    boards: tuple[BoardPlan, ...]
    links: tuple[Link, ...]
    joints: dict[str, str] = field(default_factory=dict)

    @property
    def grid_board(self) -> BoardPlan | None:
        """The board whose busbar is the bundle on the grid side."""
        return next((b for b in self.boards if b.feed and b.feed.start == SUPPLY), None)

    @property
    def house_board(self) -> BoardPlan | None:
        """The board whose busbar goes on from the bundle on the house side."""
        return next((b for b in self.boards if b.feed and b.feed.start in {HOUSE, OUTPUT}), None)

    @property
    def taps(self) -> tuple[Link, ...]:
        """Cables from the supply or from the house bar to boards beyond the first of each."""
        first = {b.name for b in (self.grid_board, self.house_board) if b}
        starts, names = {SUPPLY, HOUSE, OUTPUT}, {b.name for b in self.boards}
        return tuple(
            k for k in self.links if k.start in starts and k.end in names and k.end not in first
        )

    def into(self, end: str) -> Link | None:
        """Cable that ends at a place."""
        return next((k for k in self.links if k.end == end), None)

    @property
    def inverter_link(self) -> Link | None:
        """Cable of the inverter's a.c. side."""
        return next((k for k in self.links if k.end.partition("/")[0] == "inverter"), None)


def known(read: Callable[[], T], otherwise: T) -> T:
    """What `read` gives, or `otherwise` where it touches a gap."""
    try:
        return read()
    except Unknown:
        return otherwise


def plan(job: Job) -> Plan:
    """Read the job once; every gap becomes the words "not known"."""
    links = tuple(_link(job, name, cable) for name, cable in job.cables.items())
    boards = tuple(_boards(job, links))
    switch = job.switch
    bond_at, always = _bond(job)
    house = Plan(
        job=job.head.name,
        supply=_supply_words(job),
        system=known(lambda: job.supply.system_earthing, ""),
        main_fuse=known(lambda: job.supply.main_fuse.name, NOT_KNOWN),
        splits_at=known(lambda: job.supply.pen_splits_at or "", NOT_KNOWN),
        electrode=_electrode(job),
        three_phase=len(job.phases) > 1,
        lines=job.phases,
        switch_at=known(lambda: job.placement.islanding_switch.at, ""),
        poles=known(lambda: tuple(switch.switched_poles), ()),
        bypass=known(lambda: tuple(switch.bypass_poles or ()), ()),
        bond_at=bond_at,
        bond_always=always,
        inverter=_inverter_words(job),
        battery=_battery_words(job),
        pv=_pv_words(job),
        boards=boards,
        links=links,
    )
    return _joints(house)


# --------------------------------------------------------------------------- words
def figure(value: float) -> str:
    """A figure as it is written on a drawing: no more than three digits that matter."""
    return f"{value:.4g}" if value >= 100 else f"{value:.3g}"


def _kilo(value: float, unit: str) -> str:
    return f"{figure(value / 1000)} k{unit}" if value >= 1000 else f"{figure(value)} {unit}"


def _supply_words(job: Job) -> tuple[str, ...]:
    supply = job.supply
    u_0 = supply.nominal_voltage_v
    linked = {"three phases": 3**0.5, "split phase": 2.0}.get(supply.form)
    volts = figure(u_0) if linked is None else f"{figure(u_0)}/{_round_volts(u_0 * linked)}"
    system = known(lambda: supply.system_earthing, "system earthing not known")
    loop = known(lambda: f"{figure(supply.measured.line_neutral_ohm)} Ω", NOT_KNOWN)
    return (f"{volts} V, {figure(supply.frequency_hz)} Hz, {system}", f"loop L-N {loop}")


def _round_volts(volts: float) -> str:
    """Nominal voltages end on a ten: 398 V is called 400 V."""
    return figure(round(volts / 10) * 10)


def _electrode(job: Job) -> str:
    def words() -> str:
        electrode = job.earthing.electrode
        if electrode is None:
            return "no electrode"
        return known(
            lambda: f"electrode {figure(electrode.resistance_ohm)} Ω", "electrode, Ω not known"
        )

    return known(words, "electrode not known")


def _bond(job: Job) -> tuple[str, bool]:
    """Where the bond sits: "grid", "house", "inverter", "inside" the inverter, "" or not known."""
    switch, inverter = job.switch, job.inverter
    in_switch = known(
        lambda: "" if switch.bond is None else known(lambda: switch.bond.at, NOT_KNOWN), NOT_KNOWN
    )  # type: ignore[union-attr]
    in_inverter = known(lambda: "" if inverter.bond is None else "inside", NOT_KNOWN)
    owner = switch if in_switch else inverter
    always = known(lambda: owner.bond is not None and owner.bond.closed == "always", False)
    return in_switch or in_inverter, always


def _inverter_words(job: Job) -> tuple[str, ...]:
    inverter = job.inverter
    power = known(lambda: _kilo(inverter.rated_va, "VA"), "power not known")
    line = known(lambda: " on " + " ".join(job.placement.inverter.line), "")
    line = "" if inverter.output == "three-phase with neutral" or not job.phases[1:] else line
    fault = inverter_fault_words(job)
    return (f"Inverter {power}", f"{inverter.output}{line}", fault)


def inverter_fault_words(job: Job) -> str:
    """The most that a pole gives into an earth fault, or that nobody has said."""

    def words() -> str:
        fault = job.inverter.fault_current
        amps = f"at most {figure(fault.to_earth_a)} A a pole into a fault"
        return known(lambda: f"{amps}, for {figure(fault.for_s)} s", amps)

    return known(words, "fault current not known")


def _battery_words(job: Job) -> str:
    def words() -> str:
        battery = job.battery
        if battery is None:
            return ""
        return known(lambda: f"Battery {_kilo(battery.usable_wh, 'Wh')}", "Battery, not known")

    return known(words, "Battery not known")


def _pv_words(job: Job) -> str:
    def words() -> str:
        pv = job.pv
        if pv is None:
            return ""
        power = known(lambda: _kilo(pv.power_w, "W"), "not known")
        coupling = known(lambda: "" if pv.coupling == "d.c." else ", a.c. coupled", "")
        return f"PV {power}{coupling}"

    return known(words, "PV not known")


def cores_words(cores: Iterable[str], size_mm2: float, pe_mm2: float | None) -> str:
    """Cores and cross-section: 3 × 2.5, or 2 × 2.5 + 1.5 where the earth is smaller."""
    cores = tuple(cores)
    size = figure(size_mm2)
    if "PE" in cores and pe_mm2 is not None and pe_mm2 != size_mm2:
        return f"{len(cores) - 1} × {size} + {figure(pe_mm2)}"
    return f"{len(cores)} × {size}"


def _laid(part: Cable | Circuit) -> str:
    """Cores of a cable in words; each gap leaves out what hangs on it."""
    size = known(lambda: part.size_mm2, None)
    if size is None:
        return "?"
    pe = known(lambda: part.pe_mm2, size)
    return known(lambda: cores_words(part.cores, size, pe), figure(size))


def lines_words(lines: Iterable[str]) -> str:
    """L2, or L1–L3 for all three."""
    lines = tuple(lines)
    return f"{lines[0]}–{lines[-1]}" if len(lines) > 1 else "".join(lines)


def residual_words(residual: Residual) -> str:
    """30 mA, type A, with S where delayed."""
    trips = known(lambda: f"{figure(residual.trips_at_a * 1000)} mA", "mA not known")
    kind = known(lambda: f"type {residual.type}", "type not known")
    delay = known(lambda: " S" if residual.delay == "S" else "", "")
    return f"{trips}{delay}, {kind}"


def _device(read: Callable[[], Device | None]) -> tuple[str, bool]:
    """Name of a device and whether it is a circuit-breaker rather than a fuse."""

    def words() -> tuple[str, bool]:
        device = read()
        if device is None:
            return "", True
        curve = known(lambda: device.curve, None)
        return known(lambda: device.name, "?"), curve != "gG"

    return known(words, ("?", True))


# --------------------------------------------------------------------------- cables, boards
def _link(job: Job, name: str, cable: Cable) -> Link:
    device, is_breaker = _device(lambda: cable.device)
    behind = known(lambda: cable.behind or "", "")
    return Link(
        name=name,
        start=cable.from_,
        end=cable.to,
        cores=_laid(cable),
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
        at = known(lambda board=board: board.at, "place not known")
        bar = known(lambda board=board: f", busbar {figure(board.busbar_a)} A", "")
        yield BoardPlan(
            name=name,
            detail=f"{at}{bar}",
            house=name in house,
            main_switch=switch,
            main_switch_poles=poles,
            groups=tuple(_groups(job, name, board, links, numbers)),
            feed=next((k for k in links if k.end == name), None),
        )


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


def lines_and_neutral(poles: Iterable[str]) -> str:
    """Poles in words: L1–L3, N."""
    poles = tuple(poles)
    lines = [p for p in poles if p.startswith("L")]
    rest = [p for p in poles if not p.startswith("L")]
    return ", ".join(([lines_words(lines)] if lines else []) + rest)


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
    circuits = [(c_name, c) for c_name, c in job.circuits.items() if c.board == name]
    for rcd_name, rcd in known(lambda: board.rcds, {}).items():
        rows = [_row(job, n, c, numbers) for n, c in circuits if _behind(c) == rcd_name]
        rows += [row for behind, row in feeders if behind == rcd_name]
        amps = known(lambda rcd=rcd: f"{figure(rcd.rating_a)} A, ", "")
        if rows:
            yield Group(
                key=f"{name}/{rcd_name}",
                head=rcd_name,
                detail=amps + residual_words(rcd),
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


def _behind(circuit: Circuit) -> str:
    return known(lambda: circuit.behind or "", "")


def _own(circuit: Circuit) -> str:
    """Head under which a circuit without a group stands."""

    def words() -> str:
        residual = circuit.device.residual
        return "" if residual is None else f"each its own, {residual_words(residual)}"

    return known(words, "residual current device not known")


def _row(job: Job, name: str, circuit: Circuit, numbers: dict[str, str]) -> Row:
    device, is_breaker = _device(lambda: circuit.device)
    return Row(
        key=f"circuit {name}",
        number=numbers[name],
        name=name,
        lines=known(lambda: lines_words(job.lines_of(circuit)), "?"),
        device=device,
        cores=_laid(circuit),
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


def joint_label(number: int) -> str:
    """A, B .. Z, AA, AB: what two ends of a conductor bear that goes on elsewhere."""
    label = ""
    number += 1
    while number:
        number, letter = divmod(number - 1, 26)
        label = chr(ord("A") + letter) + label
    return label
