"""Invented houses of any size for the drawings, and the sheets of their two modes."""

from __future__ import annotations

from types import SimpleNamespace as Fake

from islewright.network.sheet import StateSheet

NAMES = (
    "Kitchen sockets",
    "Dishwasher",
    "Washing machine",
    "Living room sockets",
    "Lights ground floor",
    "Kitchen worktop, one socket by the window",
    "Boiler and pumps",
    "Well pump",
    "Yard lights",
    "Network cabinet",
    "Bedroom sockets",
    "Smoke and gas alarm",
)


def device(name="B16", residual=None):
    """A breaker or fuse by its name, with a residual part where asked."""
    curve = "gG" if name.startswith("gG") else name[0]
    return Fake(name=name, curve=curve, residual=residual)


def residual(trips_at_a=0.03, kind="A", delay="none", rating_a=40):
    return Fake(trips_at_a=trips_at_a, type=kind, delay=delay, rating_a=rating_a)


def circuit(n, board, behind, lines, *, name_device="B16", own=None):
    return Fake(
        board=board,
        behind=behind,
        lines=lines,
        device=device(name_device, own),
        cores=(*lines, "N", "PE"),
        size_mm2=2.5,
        pe_mm2=2.5,
        length_m=7 + 3 * (n % 19),
    )


def cable(start, end, cores, name="", size=10.0, length=12, behind=None):
    return Fake(
        from_=start,
        to=end,
        cores=cores,
        device=device(name) if name else None,
        size_mm2=size,
        pe_mm2=size,
        length_m=length,
        behind=behind,
    )


def generator(board, lines):
    return Fake(
        generator="portable",
        power_va=6000.0,
        lines=lines,
        feeds=board,
        inlet_a=32.0,
        cable=Fake(size_mm2=6.0, pe_mm2=6.0, length_m=14),
        from_network="mechanical interlock",
    )


def house(
    count,
    *,
    phases=3,
    system="TN-C-S",
    boards=2,
    bond="house",
    neutral_pole=True,
    main_switch=True,
    bypass=False,
    inlet=False,
    name="Mill house",
):
    """A house with so many circuits, half of them on the first backed-up board."""
    lines = ("L1", "L2", "L3")[:phases]
    all_cores = (*lines, "N", "PE")
    names = {1: ["backed-up board"], 2: ["main board", "backed-up board"]}.get(
        boards, ["main board", "backed-up board", "barn board"]
    )
    switch = Fake(poles=(*lines, "N"), rated_current_a=63) if main_switch else None
    board_fakes = {
        b: Fake(
            at="porch",
            busbar_a=125,
            main_switch=switch,
            rcds={f"R{i}{k}": residual() for k in range(1, 4)},
        )
        for i, b in enumerate(names, 1)
    }
    circuits = {}
    for n in range(count):
        board = n * len(names) // count
        behind = f"R{board + 1}{1 + n % 4}" if n % 4 < 3 else None
        own = residual() if behind is None and n % 8 == 3 else None
        on = lines if n % 9 == 5 else (lines[n % phases],)
        circuits[f"{NAMES[n % len(NAMES)]} {n + 1}"] = circuit(n, names[board], behind, on, own=own)
    cables = {
        "house side": cable("islanding switch/house", "backed-up board", all_cores),
        "inverter cable": cable("islanding switch/inverter", "inverter/output", all_cores, "C32"),
    }
    if boards == 1:
        cables["grid side"] = cable("supply", "islanding switch/grid", all_cores, "gG 50 A")
    else:
        cables["tails"] = cable("supply", "main board", (*lines, "N"), size=16.0, length=2)
        cables["grid side"] = cable("main board", "islanding switch/grid", all_cores, "gG 50 A")
    if boards == 3:
        cables["barn"] = cable("backed-up board", "barn board", all_cores, "C25", length=64)
    return Fake(
        head=Fake(name=name),
        supply=Fake(
            form={1: "one phase", 2: "split phase", 3: "three phases"}[phases],
            nominal_voltage_v=230.0,
            frequency_hz=50.0,
            system_earthing=system,
            pen_splits_at="main board" if system == "TN-C-S" else None,
            measured=Fake(line_neutral_ohm=0.31, gap=lambda _name: None),
            has=lambda name: name == "measured",
            gap=lambda _name: None,
            main_fuse=device("gG 63 A"),
        ),
        earthing=Fake(electrode=None if system == "TN-S" else Fake(resistance_ohm=18.0)),
        placement=Fake(
            islanding_switch=Fake(at="utility room"),
            inverter=Fake(line=("L1",)),
        ),
        switch=Fake(
            switched_poles=(*lines, "N") if neutral_pole else lines,
            bypass_poles=lines if bypass else None,
            bond=None if bond in {"", "inside"} else Fake(at=bond, closed="in island mode"),
        ),
        inverter=Fake(
            output="three-phase with neutral" if phases == 3 else "single-phase",
            rated_va=12000.0,
            fault_current=Fake(to_earth_a=27.8, for_s=0.3),
            bond=Fake(at="inverter", closed="in island mode") if bond == "inside" else None,
        ),
        battery=Fake(usable_wh=12000.0),
        pv=Fake(power_w=8400.0, coupling="d.c."),
        generator=generator(names[-1], lines) if inlet else None,
        boards=board_fakes,
        cables=cables,
        circuits=circuits,
        phases=lines,
        lines_of=lambda c: c.lines,
    )


def sheet(job, mode="island mode"):
    """What a state of the house looks like: everything closed, or the public supply out."""
    island = mode == "island mode"
    alive = {
        "supply": not island,
        "inverter": True,
        "islanding switch/grid": not island,
        "islanding switch/house": True,
    }
    closed = {"main fuse L1": True}
    if job.switch.bond is not None:
        closed["bond"] = island
    if job.inverter.bond is not None:
        closed["inverter bond"] = island
    closed |= {f"bypass {p}": False for p in job.switch.bypass_poles or ()}
    for name, board in job.boards.items():
        alive[name] = name != "main board" or not island
        poles = board.main_switch.poles if board.main_switch else ()
        closed |= {f"main switch {name} {pole}": True for pole in poles}
        alive |= {f"{name}/{rcd}": alive[name] for rcd in board.rcds}
    alive |= {f"circuit {n}": alive[c.board] for n, c in job.circuits.items()}
    closed |= {f"islanding switch {p}": not island for p in job.switch.switched_poles}
    return StateSheet(
        name="island, on the battery" if island else "grid, inverter feeding",
        mode=mode,
        closed=closed,
        alive=alive,
        volts={},
        fed_by="the inverter alone" if island else "the public supply and the inverter",
        system="TN-S" if island else job.supply.system_earthing,
        neutral_earthed_at="in the islanding switch, by the bond, and nowhere else"
        if island
        else "at the public transformer, and where the PEN splits",
        bond="closed, 40 ms after the last pole has opened" if island else "open",
        means_of_earthing="the electrode of 18 Ω",
        always_alive=("d.c. of PV and battery", "grid terminals of the islanding switch"),
    )
