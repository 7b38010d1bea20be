"""Equipment out of a maker's sheet: islanding switch, inverter, battery, PV array.

One entry of an equipment file describes one model. Does not belong here: where it hangs
and how it is set (`model`).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from islewright.job.kinds import (
    ApparentPower,
    Capacitance,
    Conductors,
    Count,
    Current,
    Energy,
    Length,
    Mass,
    Name,
    Power,
    Resistance,
    Size,
    Time,
    Torque,
    Voltage,
)
from islewright.job.part import Part, fact

MAKER = "the maker"


def sheet(key: str, ask: str, **rest: object) -> object:
    """A fact that only the maker's sheet or the maker can state."""
    how = "the maker's sheet; ask where it is silent"
    return fact(key, ask, how, whom=MAKER, **rest)  # type: ignore[arg-type]


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
        "the maker's sheet",
        whom=MAKER,
    )
    gap_s: Time = fact(
        "gap on return",
        "How long is the live island without bond on return?",
        "the maker's sheet",
        whom=MAKER,
    )


class Bond(Part):
    """A neutral-earth bond: where it sits and in which position it is closed."""

    at: Literal["grid", "house", "inverter"] = fact(
        "at", "At which terminals does the bond join the neutral?", "the maker's diagram", whom=MAKER
    )
    closed: Literal["in island mode", "always"] = fact(
        "closed", "In which position is the bond closed?", "the maker's diagram", whom=MAKER
    )
    contact_ohm: Resistance = fact(
        "contact resistance", "What is the bond contact's resistance?", default=None
    )
    size_mm2: Size = fact("conductor", "Which conductor makes the bond?", "look", whom=MAKER)
    length_m: Length = fact("length", "How long is the bond's conductor?", "measure", whom=MAKER)
    sequence: Sequence = fact("sequence", "In which order do bond and poles move?", whom=MAKER)


class Terminal(Part):
    """A terminal: what it takes and how tight."""

    takes: Name = fact("takes", "Which conductors does the terminal take?", whom=MAKER)
    torque_nm: Torque = fact("torque", "How tight?", whom=MAKER)


class Gland(Part):
    """A row of cable glands."""

    count: Count = fact("count", "How many?", whom=MAKER)
    clamps: Name = fact("clamps", "Which diameters does it clamp?", whom=MAKER)


class Sheet(Part):
    """What every sheet of equipment may state."""

    description: str = fact("description", "What is it?", default="")
    mass_kg: Mass = fact("mass", "What does it weigh?", whom=MAKER)
    terminals: dict[str, Terminal] = fact("terminals", "Which terminals has it?", whom=MAKER)
    glands: dict[str, Gland] = fact("glands", "Which glands has it?", whom=MAKER)


class IslandingSwitch(Sheet):
    """The enclosure that parts the house from the grid. Terminals: grid, house, inverter.

    House and inverter terminals lie on one bar; the switched poles lie between grid and house.
    """

    kind: Literal["islanding switch"] = fact("kind", "", default=...)
    switched_poles: Conductors = fact(
        "switched poles", "Which conductors does it open?", "the maker's diagram", whom=MAKER, default=...
    )
    contact_ohm: Resistance = fact("contact resistance", "What has a contact?", default=None)
    rated_current_a: Current = fact("rated current", "What is its rated current?", whom=MAKER)
    short_time_a: Current = fact(
        "short-time withstand", "Which short-circuit current does it stand?", whom=MAKER
    )
    upstream_fuse_a: Current = fact(
        "upstream fuse at most", "Which fuse may stand before it?", whom=MAKER
    )
    isolates: Literal["suitable for isolation", "not suitable"] = fact(
        "isolates", "Is it suitable for isolation?", whom=MAKER
    )
    bond: Bond | None = fact("neutral-earth bond", "Has it a neutral-earth bond?", whom=MAKER)
    bypass_poles: Conductors | None = fact(
        "bypass poles", "Has it a bypass, and of which conductors?", whom=MAKER, default=None
    )


class Overload(Part):
    """A power for a time, in total."""

    power_va: ApparentPower = fact("power", "How much?", whom=MAKER)
    for_s: Time = fact("for", "For how long?", whom=MAKER)


class FaultCurrent(Part):
    """The most that one pole gives into a fault, r.m.s."""

    to_earth_a: Current = fact(
        "to earth", "What is the largest current of a pole into an earth fault?", whom=MAKER
    )
    between_lines_a: Current = fact(
        "between lines", "What is the largest current between lines?", whom=MAKER
    )
    for_s: Time = fact("for", "For how long does it give the fault current?", whom=MAKER)


class Inverter(Sheet):
    """The battery inverter."""

    kind: Literal["inverter"] = fact("kind", "", default=...)
    output: Literal[
        "single-phase",
        "three-phase with neutral",
        "single units per phase",
        "single-phase on bridged lines",
        "split phase",
    ] = fact("output", "What output has it?", whom=MAKER, default=...)
    rated_va: ApparentPower = fact(
        "rated power", "What does it give in island mode, continuously?", whom=MAKER
    )
    phase_va: ApparentPower = fact(
        "rated power per phase", "What does one phase give continuously?", whom=MAKER
    )
    timed: dict[str, Overload] = fact("timed power", "What does it give for a time?", whom=MAKER, default={})
    surge: Overload = fact("surge", "Which surge power, for how long, in total?", whom=MAKER)
    fault_current: FaultCurrent = fact(
        "fault current", "What does it give into a fault?", whom=MAKER
    )
    falls_to_50v_s: Time = fact(
        "falls to 50 V within",
        "Within which time has its voltage fallen to 50 V on a fault?",
        whom=MAKER,
    )
    on_a_fault: Literal["stays off", "restarts"] = fact(
        "on a fault", "Does it start again on a fault that stays?", whom=MAKER
    )
    limits: Literal["each phase by itself", "all together"] = fact(
        "limits", "Does each phase limit by itself, or all together?", whom=MAKER
    )
    separation: Literal["transformerless", "simple separation"] = fact(
        "separation", "Is there simple separation between d.c. and a.c.?", whom=MAKER
    )
    smooth_dc: Literal["declared none", "up to 6 mA", "possible"] = fact(
        "smooth d.c. fault current", "Can smooth d.c. flow into a fault?", whom=MAKER
    )
    filter_f: Capacitance | None = fact(
        "filter to earth", "What filter capacitance to earth has each conductor?", whom=MAKER
    )
    pe_current_a: Current = fact("PE current", "What current flows in its PE?", whom=MAKER)
    impedance_ohm: Resistance = fact(
        "output impedance", "What is its impedance below the limit?", whom=MAKER, default=None
    )
    bond: Bond | None = fact("neutral-earth bond", "Has it a neutral-earth bond?", whom=MAKER)
    ac_coupled_w: Power | None = fact(
        "a.c.-coupled PV at most", "How much a.c.-coupled PV can it hold back?", whom=MAKER
    )


class Battery(Sheet):
    """The battery behind the inverter."""

    kind: Literal["battery"] = fact("kind", "", default=...)
    usable_wh: Energy = fact("usable capacity", "What is its usable capacity?", whom=MAKER)
    nominal_v: Voltage = fact("nominal voltage", "What is its d.c. voltage?", whom=MAKER)
    largest_current_a: Current = fact("largest current", "What current can it give?", whom=MAKER)
    isolates: Literal["suitable for isolation", "not suitable"] = fact(
        "isolates", "Has it a switch suitable for isolation?", whom=MAKER
    )


class PvArray(Sheet):
    """The PV array, as far as protection, isolation and papers need it."""

    kind: Literal["PV array"] = fact("kind", "", default=...)
    power_w: Power = fact("power", "What is its power?", whom=MAKER)
    coupling: Literal["d.c.", "a.c."] = fact("coupling", "Is it coupled at d.c. or a.c.?", whom=MAKER)
    open_circuit_v: Voltage = fact("open-circuit voltage", "What is its highest voltage?", whom=MAKER)


AnyEquipment = IslandingSwitch | Inverter | Battery | PvArray
EquipmentField = Annotated[AnyEquipment, Field(discriminator="kind")]
