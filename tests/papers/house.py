"""An invented house and an invented study of it, to lay pages out with.

Its engineering is made up: pages must print what they get, not judge it.
"""

import math
from collections import defaultdict
from types import SimpleNamespace

from islewright.findings import Finding, Question, Status, Verdict
from islewright.job.equipment import Battery, Inverter, IslandingSwitch, PvArray
from islewright.job.gap import Unknown
from islewright.job.model import Job
from islewright.job.questions import RankedQuestion
from islewright.network.isolate import Isolation
from islewright.network.rise import Rise
from islewright.network.sheet import Assumption, RaceBar, RaceRow, StateSheet
from islewright.tables.profile import profile

MAIN, BACKED = "main board", "backed-up board"
NAMES = {
    MAIN: [
        "kitchen ring", "dishwasher", "washing machine", "tumble dryer", "bathroom floor heat",
        "sockets upper floor west", "sockets upper floor east", "sockets guest room",
        "lights upper floor", "lights stairs and attic", "cooker", "oven", "sauna", "car charger",
        "air heater in the garage", "garden sockets",
    ],
    BACKED: [
        "kitchen lights", "fridge and freezer", "kitchen worktop, one socket",
        "living room sockets", "lights ground floor", "office sockets", "boiler and pumps",
        "ventilation", "network cabinet", "bedroom sockets", "lights cellar", "cellar sockets",
        "sewage lift pump", "well pump", "yard lights", "barn sockets", "workshop sockets",
        "gate drive", "lights workshop", "heat pump", "heat pump controls",
        "smoke and gas alarm", "doorbell and alarm panel", "inverter fan and enclosure light",
    ],
}  # fmt: skip


def circuits():
    made = {}
    for board, names in NAMES.items():
        for i, name in enumerate(names):
            light, big = "lights" in name, name in {"cooker", "sauna", "well pump", "heat pump"}
            made[name] = {
                "board": board,
                "behind": f"R{1 + i // 6 % 3 + (2 if board == BACKED else 0)}",
                "lines": "L1 L2 L3" if big else f"L{1 + i % 3}",
                "device": "B10" if light else "C16 RCBO 30 mA type A" if big else "B16",
                "size": "1.5 mm2" if light else "2.5 mm2",
                "earth": "as line",
                "length": f"{7 + 3 * (i * 7 % 19)} m",
                "method": "D2" if name in {"barn sockets", "yard lights"} else "B2",
                "use": "lights" if light else "motor" if "pump" in name else "sockets",
                "in an outage": "wanted" if board == BACKED else "not needed",
                "state": "new" if name == "heat pump" else "existing",
            }
    made["kitchen ring"]["ring"] = {"first leg": "31 m", "second leg": "27 m"}
    del made["sauna"]["behind"]
    made["gate drive"]["length"] = "unknown"
    del made["doorbell and alarm panel"]["method"]
    return made


def job(name="Mill Lane farmhouse", names=None, number=None):
    """Read a job as the model takes it; `names` renames circuits, `number` cuts their list."""
    listed = list(circuits().items())[-number:] if number else list(circuits().items())
    if names:
        listed = [(new, circuit) for new, (_, circuit) in zip(names, listed, strict=False)]
    rcd = {"rating": "40 A", "trips at": "30 mA", "type": "A"}
    made = Job.model_validate(
        {
            "job": {"name": name, "date": "2026-03-02", "revision": "3", "profile": "IEC base",
                    "note": "Invented data."},
            "supply": {
                "form": "three phases", "nominal voltage": "230 V", "frequency": "50 Hz",
                "system earthing": "TN-C-S", "main fuse": "gG 63 A",
            },
            "earthing": {},
            "equipment": {
                "islanding switch": {"model": "four-pole switch with bond"},
                "inverter": {"model": "hybrid three-phase 12"},
                "battery": {"model": "battery 12"},
                "PV array": {"model": "array 8"},
            },
            "boards": {
                MAIN: {"at": "porch", "busbar": "125 A",
                       "RCDs": {"R1": rcd, "R2": rcd}},
                BACKED: {"at": "workshop", "RCDs": {"R3": rcd, "R4": rcd | {"type": "F"},
                         "R5": rcd | {"trips at": "300 mA", "delay": "S"}}},
            },
            "cables": {
                "feed to the islanding switch": cable("main board", "islanding switch/grid"),
                "inverter cable": cable("inverter", "islanding switch/inverter"),
                "feed to the workshop": cable("islanding switch/house", BACKED),
            },
            "circuits": dict(listed),
        }
    )  # fmt: skip
    made._input_hash = "7f3a91c2" + 56 * "0"
    made._equipment = equipment()
    return made


def cable(start, end):
    return {
        "from": start, "to": end, "device": "gG 50 A", "cores": "L1 L2 L3 N PE",
        "size": "10 mm2", "earth": "10 mm2", "length": "38 m", "material": "copper",
        "insulation": "PVC", "method": "C", "state": "new", "type": "sheathed, 5 cores",
    }  # fmt: skip


def equipment():
    return {
        "four-pole switch with bond": IslandingSwitch.model_validate(
            {"kind": "islanding switch", "switched poles": "L1 L2 L3 N"}
        ),
        "hybrid three-phase 12": Inverter.model_validate(
            {"kind": "inverter", "output": "three-phase with neutral", "rated power": "12 kVA"}
        ),
        "battery 12": Battery.model_validate({"kind": "battery", "usable capacity": "12 kWh"}),
        "array 8": PvArray.model_validate({"kind": "PV array", "power": "8.4 kW"}),
    }


def finding(rule, place, status, mode="grid mode", **verdict):
    titles = {
        "inverter.start": "The inverter must start the largest motor on top of the rest",
        "shock.grid": "An earth fault must open the circuit's device in time",
        "shock.island": "An earth fault in island mode must be cut off, or leave no more than 50 V",
        "neutral.one-bond": "Neutral and earth must be joined once, at the source side of RCDs",
        "neutral.loads": "The loads' neutral must lie on the side that its RCD watches",
        "rcd.type": "The residual current device must see every fault current of the inverter",
        "drop.voltage": "The voltage drop must stay within the profile's share",
    }
    clauses = {"shock.grid": "IEC 60364-4-41, 411.4.4", "drop.voltage": "IEC 60364-5-52, Annex G"}
    return Finding(
        rule=rule,
        title=titles[rule],
        clauses=(clauses.get(rule, "IEC 60364-4-41, 419.2 and 419.3"),),
        place=place,
        mode=mode,
        state="island, on the battery" if mode == "island mode" else "grid",
        verdict=Verdict(status=status, confirmed="memory", **verdict),
        profile="IEC base",
    )


FALL = Question(
    field="equipment.hybrid three-phase 12.falls to 50 V within",
    ask="Within which time has the inverter's voltage fallen to 50 V on an earth fault? "
    "Needed: 0.4 s or less.",
    how="the maker's sheet; ask where it is silent",
    whom="the maker",
)
LENGTH = Question(field="circuits.gate drive.length", ask="How long is the cable?",
                  how="measure along the route")  # fmt: skip
ALLOWED = Question(
    field="earthing.operator allows PEN in island mode",
    ask="Does the operator allow the PEN as the earth of an island?",
    how="ask in writing",
    whom="the operator",
)


def findings(job):
    names = list(job.circuits)
    made = [
        finding(
            "inverter.start", names[-11], Status.NOT_MET, "island mode",
            value=32.6, limit=26.1, unit="A", spread=1.2,
            because=["I_start = 6 · 3.87 A = 23.2 A", "I_rest = 9.4 A on L1, all other loads",
                     "I_start + I_rest = 23.2 A + 9.4 A = 32.6 A",
                     "I_surge = 1.5 · 12 000 VA / (3 · 230 V) = 26.1 A"],
            means="The pump will stall, or the inverter will stop and the house with it.",
            remedies=[lambda: "A frequency converter: 4.3 A at the start, 13.7 A in all",
                      lambda: "the main board for the pump"],
        ),
        finding(
            "neutral.loads", names[-10], Status.NOT_MET,
            because=["its lines run behind R5, its neutral lies on the bar of R4"],
            means="Both devices open as soon as the lights burn.",
            remedies=[lambda: "Move the neutral of the yard lights to the bar behind R5"],
        ),
    ]  # fmt: skip
    made += [
        finding("shock.island", name, Status.UNDECIDED, "island mode", questions=[FALL],
                because=["the inverter's largest current to earth opens no device in time"],
                means="The maker has not said within which time the voltage falls to 50 V.")
        for name in names[-9:-2]
    ]  # fmt: skip
    made += [
        finding("shock.grid", "gate drive", Status.UNDECIDED, questions=[LENGTH]),
        finding("neutral.one-bond", "islanding switch", Status.UNDECIDED, "island mode",
                questions=[ALLOWED],
                means="Whether the operator allows his PEN as an island's earth is not known."),
    ]  # fmt: skip
    made += [
        finding(
            "shock.grid", name, Status.NEAR, value=1.33, limit=1.37, unit="ohm", spread=0.08,
            because=["Z_s = 0.31 Ω + 0.17 Ω + 0.85 Ω = 1.33 Ω, hot", "I_a = 10 · 16 A = 160 A",
                     "c_min · U_0 / I_a = 0.95 · 230 V / 160 A = 1.37 Ω"],
            means="Within the limit, but the tester's 10 % and the lengths leave it open.",
            remedies=[lambda: "Measure the loop at the last socket, or fit B16 (limit 2.73 Ω)"],
        )
        for name in names[-9:-5]
    ]  # fmt: skip
    made += [
        finding("shock.grid", name, Status.MET, value=0.3 + 0.01 * i, limit=1.37, unit="ohm",
                spread=0.05)
        for i, name in enumerate(names[:10])
    ]  # fmt: skip
    made += [
        finding("drop.voltage", name, Status.MET, mode, value=2.1, limit=4.0, unit="%", spread=0.2)
        for name in names
        for mode in ("grid mode", "island mode")
    ]
    made += [
        finding("shock.island", name, Status.MET, "island mode", value=7.7, limit=50.0, unit="V",
                spread=0.4, means="The fault stays on until the inverter stops or someone opens "
                "the circuit.")
        for name in names[-2:]
    ]  # fmt: skip
    made.append(finding("neutral.one-bond", "islanding switch", Status.MET))
    return tuple(made)


def states(*, island):
    grid = {f"islanding switch {c}": True for c in ("L1", "L2", "L3", "N")}
    told = [
        StateSheet(
            name=name, mode="grid mode", closed=grid | {"main fuse": True, "bond": False},
            alive={"supply": True, MAIN: True, BACKED: True}, volts={}, fed_by=fed,
            system="TN-C-S",
            neutral_earthed_at="at the public transformer, and where the PEN splits: main board",
            bond="open; closed here it would put neutral current on the protective conductor",
            means_of_earthing="the operator's PEN, with the electrode of 12 Ω beside it",
            always_alive=("d.c. cables of the PV array by day", "battery up to its own switch"),
        )
        for name, fed in (("grid, on the public supply", "the public supply"),
                          ("grid, the inverter feeding", "the public supply and the inverter"))
    ]  # fmt: skip
    if island:
        told += [
            StateSheet(
                name=name, mode="island mode",
                closed=dict.fromkeys(grid, False) | {"main fuse": True, "bond": True},
                alive={"supply": False, MAIN: False, BACKED: True}, volts={}, fed_by=fed,
                system="TN-S", neutral_earthed_at="in the islanding switch, by the bond, and "
                "nowhere else", bond="closed, 40 ms after the last pole has opened",
                means_of_earthing="the electrode of 12 Ω and the PEN, which stays joined",
                always_alive=("d.c. cables of the PV array by day",),
            )
            for name, fed in (("island, on the battery", "the battery alone"),
                              ("island, battery and PV", "the battery and the PV array"))
        ]  # fmt: skip
    return tuple(told)


def race(job):
    rows = []
    backed = [name for name, c in job.circuits.items() if c.board == BACKED]
    for i, name in enumerate([*backed, "inverter cable"]):
        stops = RaceBar(role="inverter", name="inverter stops", earliest_s=0.3, latest_s=0.6,
                        rank="later", current_a=27.8,
                        questions=(FALL,) if i == 3 else ())  # fmt: skip
        rcd = RaceBar(role="RCD", name=f"R{3 + i % 3}", earliest_s=0.01, latest_s=0.04,
                      rank="first in every case", current_a=27.8)  # fmt: skip
        breaker = RaceBar(role="device", name="B16", earliest_s=1.0, latest_s=math.inf,
                          rank="later", current_a=27.8)  # fmt: skip
        if i % 7 == 6:
            breaker = RaceBar(role="device", name="B6", earliest_s=0.1, latest_s=60.0,
                              rank="may be first", current_a=27.8)  # fmt: skip
            stops = RaceBar(role="inverter", name="inverter stops", earliest_s=0.3, latest_s=0.6,
                            rank="may be first", current_a=27.8)  # fmt: skip
        own = name == "inverter cable"
        first = RaceBar(role="inverter", name="inverter stops", earliest_s=0.3, latest_s=0.6,
                        rank="first in every case", current_a=27.8)  # fmt: skip
        rows.append(
            RaceRow(
                place=f"cable {name}" if own else f"circuit {name}", kind=f"L{1 + i % 3}-PE",
                end="far", current_a=27.8, limited=True,
                voltage_left_v=31.0 + i, touch_v=7.7, touch_earth_v=9.0, allowed_s=0.4,
                bars=(first,) if own else (breaker, stops) if i % 7 == 6 else (rcd, breaker, stops),
                alive_after="nothing" if own else f"all but R{3 + i % 3}",
                state="island, on the battery",
            )
        )  # fmt: skip
    return tuple(rows)


def isolations():
    """Main switch and islanding switch, each with the inverter running and stopped."""
    places = ("supply", MAIN, BACKED, "islanding switch/grid", "islanding switch/house", "inverter")
    alive = {
        ("main switch of main board", "left running"): (0, 2, 4, 5),
        ("main switch of main board", "stopped first"): (0,),
        ("C25 of the inverter cable", "left running"): (0, 1, 2, 3, 4),
    }
    return tuple(
        Isolation(
            isolator=isolator, inverter=inverter,
            alive=tuple(places[i] for i in live),
            dead=tuple(p for i, p in enumerate(places) if i not in live),
        )
        for (isolator, inverter), live in alive.items()
    )  # fmt: skip


def rises():
    return (
        Rise(case="PEN open in the street", mode="grid mode", met_v=13.2, electrode_a=0.73,
             because="neighbours' 6 kW all on one line"),
        Rise(case="a line lies on the soil", mode="island mode", met_v=176.7, electrode_a=math.nan,
             because="7 Ω from the line into the soil (assumed)"),
    )  # fmt: skip


def _no_story(_here, _end="far"):
    """Nothing is solved here, so no fault can be followed."""
    raise Unknown(LENGTH)


def study(name="Mill Lane farmhouse", names=None, number=None, *, island=True):
    """Make up a study that has one of everything."""
    read = job(name, names, number)
    found = findings(read)
    ranked = [
        RankedQuestion(question=question, findings_count=count)
        for question, count in ((FALL, 7), (LENGTH, 3), (ALLOWED, 1))
    ]
    return SimpleNamespace(
        job=read,
        profile=profile("IEC base"),
        findings=found,
        states=states(island=island),
        race=race(read) if island else (),
        race_missing=(),
        solvable=False,
        answers=defaultdict(dict),
        story=_no_story,
        zones=race(read)[-1:] if island else (),
        isolations=isolations() if island else (),
        rises=rises() if island else (),
        questions=tuple(ranked),
        assumptions=(
            Assumption(what="temperature of a conductor before a fault", value="70 °C",
                       why="PVC at its limit gives the largest loop"),
            Assumption(what="resistance of a contact", value="1 mΩ",
                       why="the makers do not state it"),
        ),
        counts={status: sum(f.status is status for f in found) for status in Status},
        not_covered=("Lightning protection", "the battery room's ventilation", "the roof",
                     "the operator's consent",
                     "existing cables were not opened; their sizes are as found at the boards"),
    )  # fmt: skip


def judged_as(finding, verdict):
    """The same demand at the same place with another verdict."""
    return Finding(
        place=finding.place,
        mode=finding.mode,
        state=finding.state,
        verdict=verdict,
        rule=finding.rule,
        title=finding.title,
        clauses=finding.clauses,
        profile=finding.profile,
    )
