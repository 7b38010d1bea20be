"""Equipment out of a maker's sheet: islanding switch, inverter, battery, PV array.

One entry of an equipment file describes one model. Does not belong here: where it hangs
and how it is set (`model`).
"""

from typing import Literal

from islewright.job.device import FaultWave
from islewright.job.ends import Gland, Terminal
from islewright.job.housed import Housed
from islewright.job.kinds import (
    ApparentPower,
    Capacitance,
    Conductors,
    Current,
    Energy,
    Length,
    Mass,
    Name,
    OutputImpedance,
    Power,
    Resistance,
    Size,
    Temperature,
    Time,
    Voltage,
)
from islewright.job.part import MAKER, Part, fact, sheet
from islewright.job.poles import NeutralPole, Withstand


class Sequence(Part):
    """The declared order of poles and bond, in time."""

    bond_closes_after_s: Time = fact(
        "bond closes after poles open",
        "How long after the poles open does the bond close?",
        "the maker's sheet",
        whom=MAKER,
    )
    overlap_s: Time = fact(
        "overlap on return",
        "How long are bond and poles closed together on return?",
        "the maker's sheet; `0 ms` where they never are",
        whom=MAKER,
    )
    gap_s: Time = fact(
        "gap on return",
        "How long is the live island without bond on return?",
        "the maker's sheet; `0 ms` where it never is",
        whom=MAKER,
    )
    source_on: Literal["after the bond has closed", "before the bond has closed"] = fact(
        "source on",
        "Does the inverter start before or after the bond has closed?",
        "the maker's sheet",
        whom=MAKER,
    )


class Bond(Part):
    """A neutral-earth bond: where it sits and in which position it is closed."""

    at: Literal["grid", "house", "inverter"] = fact(
        "at",
        "At which terminals does the bond join the neutral?",
        "the maker's diagram",
        whom=MAKER,
    )
    closed: Literal["in island mode", "always"] = fact(
        "closed", "In which position is the bond closed?", "the maker's diagram", whom=MAKER
    )
    contact_ohm: Resistance | None = fact(
        "contact resistance", "What is the bond contact's resistance?", default=None
    )
    size_mm2: Size = fact("conductor", "Which conductor makes the bond?", "look", whom=MAKER)
    length_m: Length = fact("length", "How long is the bond's conductor?", "measure", whom=MAKER)
    contact_stands: Withstand = sheet("contact stands", "Which fault current stands its contact?")
    sequence: Sequence = sheet("sequence", "In which order do bond and poles move?")


class Sheet(Part):
    """What every sheet of equipment may state."""

    description: str = fact("description", "What is it?", default="")
    mass_kg: Mass = sheet("mass", "What does it weigh?")
    terminals: dict[str, Terminal] = sheet("terminals", "Which terminals has it?")
    glands: dict[str, Gland] = sheet("glands", "Which glands has it?")


class IslandingSwitch(Housed, Sheet):
    """The enclosure that parts the house from the grid. Terminals: grid, house, inverter.

    House and inverter terminals lie on one bar; the switched poles lie between grid and house.
    """

    kind: Literal["islanding switch"] = fact("kind", "", default=...)
    switched_poles: Conductors = fact(
        "switched poles",
        "Which conductors does it open?",
        "the maker's diagram",
        whom=MAKER,
    )
    neutral_pole: NeutralPole = sheet("neutral pole", "When does the neutral pole move?")
    contact_ohm: Resistance | None = fact("contact resistance", "What has a contact?", default=None)
    rated_current_a: Current = sheet("rated current", "What is its rated current?")
    pass_through_a: Current = sheet(
        "pass-through current", "What may flow through its house terminals, from all sources?"
    )
    short_time_a: Current = sheet(
        "short-time withstand",
        "Which short-circuit current does it stand?",
    )
    upstream_fuse_a: Current = sheet(
        "upstream fuse at most",
        "Which fuse may stand before it?",
    )
    isolates: Literal["suitable for isolation", "not suitable"] = sheet(
        "isolates",
        "Is it suitable for isolation?",
    )
    bond: Bond | None = sheet("neutral-earth bond", "Has it a neutral-earth bond?")
    bypass_poles: Conductors | None = sheet(
        "bypass poles", "Has it a bypass, and of which conductors?", default=None
    )


class Overload(Part):
    """A power for a time, in total."""

    power_va: ApparentPower = sheet("power", "How much?")
    for_s: Time = sheet("for", "For how long?")


class FaultCurrent(Part):
    """The most that one pole gives into a fault, r.m.s."""

    to_earth_a: Current = sheet(
        "to earth",
        "What is the largest current of a pole into an earth fault?",
    )
    between_lines_a: Current = sheet(
        "between lines",
        "What is the largest current between lines?",
    )
    for_s: Time = sheet("for", "For how long does it give the fault current?")


class Inverter(Housed, Sheet):
    """The battery inverter."""

    kind: Literal["inverter"] = fact("kind", "", default=...)
    output: Literal[
        "single-phase",
        "three-phase with neutral",
        "single units per phase",
        "single-phase on bridged lines",
        "split phase",
    ] = sheet("output", "What output has it?")
    rated_va: ApparentPower = sheet(
        "rated power",
        "What does it give in island mode, continuously?",
    )
    full_power_to_c: Temperature = sheet(
        "full power up to", "Up to which temperature does it give its rated power?"
    )
    phase_va: ApparentPower = sheet(
        "rated power per phase",
        "What does one phase give continuously?",
    )
    timed: dict[str, Overload] = sheet("timed power", "What does it give for a time?", default={})
    surge: Overload = sheet("surge", "Which surge power, for how long, in total?")
    fault_current: FaultCurrent = sheet(
        "fault current",
        "What does it give into a fault?",
    )
    falls_to_50v_s: Time = sheet(
        "falls to 50 V within",
        "Within which time has its voltage fallen to 50 V on a fault?",
    )
    discharge_s: Time = fact(
        "discharge time",
        "How long after it is cut off may its terminals still be charged?",
        "the plate beside its terminals, else the maker's sheet",
        whom=MAKER,
    )
    on_a_fault: Literal["stays off", "restarts"] = sheet(
        "on a fault",
        "Does it start again on a fault that stays?",
    )
    limits: Literal["each phase by itself", "all together"] = sheet(
        "limits",
        "Does each phase limit by itself, or all together?",
    )
    separation: Literal["transformerless", "simple separation"] = sheet(
        "separation",
        "Is there simple separation between d.c. and a.c.?",
    )
    smooth_dc: Literal["declared none", "up to 6 mA", "possible"] = sheet(
        "smooth d.c. fault current",
        "Can smooth d.c. flow into a fault?",
    )
    smooth_dc_paper: Name = sheet(
        "statement kept",
        "Which paper of the maker, kept with the job, says what smooth d.c. can flow?",
    )
    filter_f: Capacitance | None = sheet(
        "filter to earth",
        "What filter capacitance to earth has each conductor?",
    )
    pe_current_a: Current = sheet("PE current", "What current flows in its PE?")
    impedance_ohm: OutputImpedance | None = sheet(
        "output impedance", "What is its impedance below the limit?", default=None
    )
    bond: Bond | None = sheet("neutral-earth bond", "Has it a neutral-earth bond?")
    ac_coupled_w: Power | None = sheet(
        "a.c.-coupled PV at most",
        "How much a.c.-coupled PV can it hold back?",
    )


class Battery(Housed, Sheet):
    """The battery behind the inverter."""

    kind: Literal["battery"] = fact("kind", "", default=...)
    usable_wh: Energy = sheet("usable capacity", "What is its usable capacity?")
    nominal_v: Voltage = sheet("nominal voltage", "What is its d.c. voltage?")
    largest_current_a: Current = sheet("largest current", "What current can it give?")
    isolates: Literal["suitable for isolation", "not suitable"] = sheet(
        "isolates",
        "Has it a switch suitable for isolation?",
    )


class PvArray(Sheet):
    """The PV array, as far as protection, isolation and papers need it."""

    kind: Literal["PV array"] = fact("kind", "", default=...)
    power_w: Power = sheet("power", "What is its power?")
    coupling: Literal["d.c.", "a.c."] = sheet("coupling", "Is it coupled at d.c. or a.c.?")
    when_too_much: Literal["gives less", "goes on"] = sheet(
        "when there is too much",
        "Does an inverter of its own give less as the island's frequency rises?",
    )
    open_circuit_v: Voltage = sheet("open-circuit voltage", "What is its highest voltage?")
    fault_wave: FaultWave = sheet(
        "fault current",
        "Which form of current can flow into a fault behind its own inverter (a.c. coupling)?",
    )
    pe_current_a: Current = sheet(
        "PE current", "What current flows in the PE of its own inverter (a.c. coupling)?"
    )


AnyEquipment = IslandingSwitch | Inverter | Battery | PvArray

#: class of a sheet by the word that stands at `kind`
KINDS: dict[str, type[AnyEquipment]] = {
    "islanding switch": IslandingSwitch,
    "inverter": Inverter,
    "battery": Battery,
    "PV array": PvArray,
}
