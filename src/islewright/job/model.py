"""What the electrician knows about a job: supply, earth, boards, cables, circuits.

Every field is a fact with its key in the file and the question that a gap becomes.
Does not belong here: equipment out of a maker's sheet (`equipment`), reading (`read`),
checks over several fields (`check`), anything computed.
"""

from typing import Any, ClassVar, Literal, TypeVar

from pydantic import PrivateAttr

from islewright.job.arc_fault import ArcFault
from islewright.job.arrester import SurgeArrester
from islewright.job.backing import Backing
from islewright.job.charging import Charging
from islewright.job.device import DeviceField, FaultWave, Rcd
from islewright.job.ends import Cores, DcCable, Entering, Gland, Terminal
from islewright.job.equipment import AnyEquipment, Battery, Inverter, IslandingSwitch, PvArray
from islewright.job.generator import GeneratorInlet
from islewright.job.isolation import Isolation
from islewright.job.kinds import (
    Conductors,
    Current,
    Date,
    EarthResistance,
    FileNames,
    Frequency,
    Length,
    Lines,
    LoopImpedance,
    LowVoltage,
    Multiple,
    Name,
    Power,
    Ratio,
    Share,
    Size,
    Time,
)
from islewright.job.laying import STATE, Existing, Laying
from islewright.job.operator import OperatorLimits, SupplyVoltage
from islewright.job.part import Part, fact
from islewright.job.shedding import Shedding
from islewright.job.spot import Spot

_PHASES = {
    "one phase": ("L1",),
    "three phases": ("L1", "L2", "L3"),
    "split phase": ("L1", "L2"),
}
T = TypeVar("T", IslandingSwitch, Inverter, Battery, PvArray)


class Head(Part):
    """Which job this is and by whose rules it is judged."""

    name: Name = fact("name", "What is the job called?", default=...)
    date: Date = fact("date", "Of which day is this survey?", default=...)
    revision: Name = fact("revision", "Which revision is this?", default="1")
    profile: Name = fact("profile", "Which rule set applies?", default=...)
    equipment_files: FileNames = fact(
        "equipment file", "Which files describe the equipment?", default=()
    )
    note: str = fact("note", "Anything else?", default="")


class Site(Spot):
    """The place where the equipment goes, as far as a piece does not name another."""

    wall: Name = fact("wall", "Of what is the wall?", "knock, drill, ask")
    height_m: Length = fact("height", "How high above the floor?", "measure")


class Loops(Part):
    """Loop readings, or the operator's declared figures, at one place.

    The worse of the two counts: what one of them states and the other leaves out is asked;
    `none` there says that the other has no such figure.
    """

    at: Name = fact("at", "Where was it measured?", default="supply")
    date: Date = fact("date", "When was it measured?")
    line_neutral_ohm: LoopImpedance | None = fact(
        "line-neutral loop",
        "What is the line-neutral loop?",
        "loop tester at the origin; `none` where there is no such figure",
    )
    line_earth_ohm: LoopImpedance | None = fact(
        "line-earth loop",
        "What is the line-earth loop?",
        "loop tester at the origin; `none` where there is no such figure",
    )
    line_line_ohm: LoopImpedance | None = fact(
        "line-line loop",
        "What is the line-line loop?",
        "loop tester between two lines; `none` where there is no such figure",
    )
    largest_fault_current_a: Current | None = fact(
        "largest fault current",
        "What is the largest prospective fault current?",
        "measured: the tester's figure at the origin; declared: the operator's maximum; "
        "`none` where there is no such figure",
        whom="the operator",
    )


class Street(Part):
    """A piece of the street: enough of it to compute an open PEN and neighbours' load."""

    pen_electrodes_ohm: EarthResistance | None = fact(
        "PEN electrodes",
        "To how many ohms is the operator's PEN earthed along the street?",
        "only the operator knows",
        whom="the operator",
    )
    neighbours_load_w: Power = fact(
        "neighbours' load",
        "What load of neighbours can hang on the same PEN?",
        "only the operator knows",
        whom="the operator",
    )
    transformer_electrode_ohm: EarthResistance = fact(
        "transformer electrode",
        "What is the resistance of the transformer's electrode R_B?",
        "ask the operator",
        whom="the operator",
    )


class Supply(Part):
    """The public supply as it reaches the house."""

    form: Literal["one phase", "three phases", "split phase"] = fact(
        "form", "How many phases has the supply?", default=...
    )
    nominal_voltage_v: LowVoltage = fact(
        "nominal voltage", "What is the nominal voltage line to neutral, U_0?", default=...
    )
    frequency_hz: Frequency = fact("frequency", "What is the frequency?", default=...)
    system_earthing: Literal["TN-C-S", "TN-S", "TT", "IT"] = fact(
        "system earthing",
        "Which system earthing has the supply?",
        "ask the operator; a separate earth conductor alone does not prove TN-S",
        whom="the operator",
    )
    confirmed_by_operator: Literal["confirmed", "not confirmed"] = fact(
        "confirmed by operator",
        "Has the operator confirmed the system earthing?",
        "ask in writing",
        whom="the operator",
    )
    pen_splits_at: Name | None = fact(
        "PEN splits at", "Where does the PEN split into N and PE?", "open the board and look"
    )
    measured: Loops | None = fact(
        "measured", "What are the loops at the origin?", "loop tester; `none` before any reading"
    )
    declared: Loops | None = fact(
        "declared",
        "What does the operator declare?",
        "ask the operator; `none` where he declares nothing",
        whom="the operator",
    )
    neutral_mm2: Size = fact(
        "supply neutral",
        "Which cross-section has the operator's neutral or PEN, in copper?",
        "ask the operator",
        whom="the operator",
    )
    main_fuse: DeviceField = fact("main fuse", "What is the main fuse?", "read the holder")
    street: Street = fact("street", "What is known of the street?", whom="the operator")
    voltage: SupplyVoltage = fact("voltage", "Between which voltages does the supply lie?")
    limits: OperatorLimits = fact(
        "operator's limits", "Which limits does the operator set?", whom="the operator"
    )


class Run(Part):
    """A conductor of its own: earthing conductor, bonding conductor, link."""

    size_mm2: Size = fact("size", "Which cross-section has the conductor?", "measure it")
    length_m: Length = fact("length", "How long is the conductor?", "measure along the run")
    material: Literal["copper", "aluminium"] = fact("material", "Of what metal?", default="copper")
    state: Existing = fact("state", STATE)


class Electrode(Part):
    """The house's own earth electrode."""

    resistance_ohm: EarthResistance = fact(
        "resistance", "What is the electrode's resistance?", "three-pole method, link lifted"
    )
    measured_by: Name = fact("measured by", "How was the electrode measured?", "ask or repeat")
    date: Date = fact("date", "When was the electrode measured, in which season?")
    conductor: Run = fact("conductor", "What is the earthing conductor?", "measure it")
    laid: Literal[
        "not buried",
        "buried, protected against corrosion and mechanically",
        "buried, protected against corrosion only",
        "buried, not protected against corrosion",
    ] = fact("conductor laid", "How is the earthing conductor laid?", "follow it to the electrode")
    stays_low: Literal["assured", "not assured"] = fact(
        "stays low",
        "Does somebody answer for it that its resistance stays low for good?",
        "a foundation or ring in moist soil, or readings of dry and frosty seasons; a rod alone "
        "does not",
    )
    state: Existing = fact("state", STATE)


class Earthing(Part):
    """How the house is earthed in each mode."""

    in_grid_mode: Literal["supply PEN", "supply PE", "local electrode"] = fact(
        "in grid mode",
        "What is the means of earthing in grid mode?",
        "look at the earthing terminal",
    )
    in_island_mode: Literal["supply PEN", "supply PE", "local electrode"] = fact(
        "in island mode", "On which earth does the island rely?", "decide with the operator's rule"
    )
    operator_allows_pen: Literal["allowed", "forbidden"] = fact(
        "operator allows PEN in island mode",
        "Does the operator allow the PEN as the earth of an island?",
        "ask in writing",
        whom="the operator",
    )
    main_earthing_terminal: Name = fact(
        "main earthing terminal", "At which board is the main earthing terminal?", "look"
    )
    link: Run = fact("link", "What joins the earthing terminal to the board's PE bar?", "measure")
    electrode: Electrode | None = fact(
        "electrode", "Is there an earth electrode?", "look for the rod or the ring"
    )
    main_bonding: dict[str, Run] = fact(
        "main bonding", "Which pipes and steel are bonded?", "follow the bonding conductors"
    )
    parallel_earths: dict[str, EarthResistance] | None = fact(
        "parallel earths",
        "Which pipes and other parts earth the house beside the electrode?",
        "earth clamp on each bonding conductor",
    )
    supplementary_bonding: Literal["present", "none"] = fact(
        "supplementary bonding",
        "Are parts that can be touched at once bonded to each other?",
        "ohmmeter between the parts",
    )
    lightning_protection: Literal["present", "none"] = fact(
        "lightning protection",
        "Is a lightning protection system joined to the earthing?",
        "look at the roof and at the earthing terminal",
    )
    soil: Name = fact("soil", "What soil is it?", default="")


class Settings(Part):
    """Figures to enter at the inverter when it is set up."""

    reserve_share: Share = fact(
        "reserve share",
        "Which share of the battery is held for outages?",
        "ask the customer",
        whom="the customer",
    )
    export_limit_w: Power | None = fact(
        "export limit", "How much may be fed to the grid?", whom="the operator"
    )
    import_limit_w: Power | None = fact(
        "import limit", "How much may be drawn?", whom="the operator"
    )
    return_delay_s: Time = fact(
        "return delay", "How long must the grid be healthy?", whom="the operator"
    )


class Sensor(Part):
    """Where the current sensors sit and which way they look."""

    at: Name = fact("at", "On which cable do the current sensors sit?", "look")
    points_to: Name = fact("points to", "Towards which end do they point?", "arrow on the sensor")


class Placed(Part):
    """One piece of equipment at its place."""

    model: Name = fact("model", "Which model is it?", default=...)
    at: Name = fact("at", "Where does it hang?")
    place: Name | None = fact(
        "place",
        "At which of the other places does it stand?",
        "left out or `none`: at the job's place; left out, all that hang there have the same `at`",
    )
    state: Existing = fact("state", STATE)
    line: Lines = fact("line", "On which line does a single-phase inverter work?")
    settings: Settings = fact("settings", "Which settings are to be entered?")
    current_sensors: Sensor = fact("current sensors", "Where are the current sensors?")
    connected_to: Name | None = fact(
        "connected to", "At which board does a.c.-coupled PV feed in?", "look", default=None
    )


class Placement(Part):
    """The equipment of this job, each with the model that its file describes."""

    islanding_switch: Placed = fact("islanding switch", "Which islanding switch?", default=...)
    inverter: Placed = fact("inverter", "Which inverter?", default=...)
    battery: Placed | None = fact("battery", "Which battery?")
    pv: Placed | None = fact("PV array", "Is there a PV array?")


class MainSwitch(Part):
    """A switch that cuts a whole board off."""

    poles: Conductors = fact("poles", "Which conductors does it open?", "look")
    rated_current_a: Current = fact("rated current", "What is its rated current?", "read it")
    isolates: Literal["suitable for isolation", "not suitable"] = fact(
        "isolates", "Is it suitable for isolation?", "the sign on the device"
    )


class Board(Part):
    """A distribution board with its busbar and its groups."""

    at: Name = fact("at", "Where is the board?")
    busbar_a: Current = fact("busbar", "What may the busbar carry?", "the board's rating plate")
    demand_factor: Ratio = fact(
        "demand factor", "Which demand factor applies to the board?", "judge it by use, state it"
    )
    feeds: Literal["opposite ends"] | None = fact(
        "sources and main",
        "Do sources and main feed its busbar at opposite ends, and is that marked?",
        "only some rule sets ask it; left out, they are taken to feed it side by side",
        default=None,
    )
    main_switch: MainSwitch | None = fact("main switch", "Has the board a main switch?", "look")
    backed_up: Backing | None = fact(
        "devices backed up", "Which fuse backs up all its devices, by its maker?", default=None
    )
    surge_arrester: SurgeArrester | None = fact(
        "surge arrester", "Has the board a surge arrester?", "look"
    )
    rcds: dict[str, Rcd] = fact("RCDs", "Which RCDs are in the board?", default={})
    terminals: dict[str, Terminal] = fact(
        "terminals",
        "Which conductors do its terminals take?",
        "printed on devices and bars, or their sheets; `cables` are those of the cables between "
        "boards, `circuits` those of the final circuits, `N` and `PE` the bars",
    )
    glands: dict[str, Gland] = fact(
        "glands",
        "Which glands has it?",
        "look; `none` where cables enter by knock-outs, trunking or an open side",
    )
    state: Existing = fact("state", STATE)


class Cable(Entering, Laying):
    """A cable between two places; its device sits at `from` unless `device at` says otherwise."""

    from_: Name = fact("from", "Where does the cable begin?", default=...)
    to: Name = fact("to", "Where does the cable end?", default=...)
    behind: Name | None = fact("behind", "Behind which RCD of its board?", default=None)
    device: DeviceField | None = fact("device", "Which device protects it?", default=None)
    device_at: Literal["from", "to"] = fact(
        "device at", "At which end sits the device?", default="from"
    )
    arc_fault: ArcFault | None = fact(
        "arc-fault device", "Which arc-fault device watches it?", default=None
    )
    cores: Conductors = fact("cores", "Which conductors has the cable?", default=...)


class Ring(Part):
    """A ring final circuit: two legs from the same device, and the longest spur."""

    first_leg_m: Length = fact(
        "first leg", "How long is the first leg, to the far point?", "plan or measure"
    )
    second_leg_m: Length = fact("second leg", "How long is the second leg?", "plan or measure")
    spur_m: Length | None = fact("longest spur", "How long is the longest spur?", default=None)
    spur_mm2: Size | None = fact("spur size", "Which cross-section has the spur?", default=None)
    load: Literal["spread round the ring", "gathered near one end"] = fact(
        "load",
        "Are heavy loads spread round the ring, or gathered near one of its ends?",
        "see where washing machine, dryer and heaters are plugged in",
    )


class Load(Part):
    """A load at the end of a circuit."""

    short_form: ClassVar[tuple[str, ...]] = ("220 W",)

    power_w: Power = fact("power", "What power does it draw?", "rating plate", whom="the customer")
    power_factor: Ratio = fact(
        "power factor", "What is its power factor?", "rating plate", default=1.0
    )
    starts_at_x: Multiple | None = fact(
        "starts at",
        "How many times its current does it draw at start?",
        "inrush clamp",
        default=None,
    )
    start_lasts_s: Time = fact("start lasts", "How long does its start last?", "inrush clamp")
    starts_down_to: Share | None = fact(
        "starts down to", "Down to which share of the voltage does it start?", default=None
    )
    third_harmonic: Share | None = fact(
        "third harmonic", "Which share has its third harmonic?", default=None
    )
    leakage_a: Current | None = fact(
        "leakage", "What leakage has it?", "leakage clamp; `none` where nothing leaks"
    )
    fault_wave: FaultWave = fact(
        "fault current",
        "Of which form is the current of an earth fault inside it?",
        "sinusoidal where no electronics feed it, pulsed behind a rectifier on one phase; "
        "else the maker's sheet",
        whom="the maker",
    )

    @classmethod
    def from_text(cls, text: str) -> dict[str, Any]:
        """Only the power is said, or asked in vain."""
        return {"power": text}


class Circuit(Cores, Laying):
    """A final circuit: device, cable, loads, and what it is for."""

    board: Name = fact("board", "On which board is the circuit?", default=...)
    behind: Name | None = fact("behind", "Behind which RCD of the board?", default=None)
    lines: Lines = fact("lines", "On which line is the circuit?", "follow it to the busbar")
    device: DeviceField = fact("device", "Which device protects it?", "read it on the board")
    cores: Conductors = fact("cores", "Which conductors has the cable?")
    ring: Ring | None = fact("ring", "Is it a ring?", default=None)
    loads: dict[str, Load] = fact("loads", "What hangs on it?", "walk it", whom="the customer")
    use: Literal[
        "lights", "sockets", "outdoor", "bathroom", "fixed appliance", "motor", "heating", "charger"
    ] = fact("use", "What is the circuit for?", "walk it")
    wish: Literal["wanted", "not needed"] = fact(
        "in an outage", "Does the customer want it in an outage?", "ask", whom="the customer"
    )
    neutral_with: Name | None = fact(
        "neutral with", "With which circuit does it share its neutral?", default=None
    )
    source_a: Current | None = fact(
        "source", "Which rated current has a source that feeds into it?", default=None
    )
    neutral_at: Name | None = fact(
        "neutral at", "On which other bar does its neutral lie?", default=None
    )
    shed: Shedding | None = fact(
        "shed in an outage", "Does something take it off in an outage, and when?", default=None
    )
    on_three_lines: Literal["each by itself", "needs rotation"] = fact(
        "on three lines",
        "Do its loads work on each line by itself, or need they rotation?",
        "a motor or a converter needs it; left out, it is taken so",
        default="needs rotation",
    )
    arc_fault: ArcFault | None = fact(
        "arc-fault device", "Which arc-fault device watches it?", default=None
    )
    charging: Charging = fact("charging", "Which charging points hang on it?", "look")
    special_location: Literal["none", "25 V applies"] = fact(
        "special location",
        "Do stricter touch voltages apply there?",
        "bath, animals, site",
        default="none",
    )


class SameFor(Laying):
    """Facts that hold for all cables or circuits that do not state their own."""


class Job(Part):
    """A whole job, read and checked; equipment is looked up by model.

    `circuits`, `cables` and `boards` keep the order of the file.
    """

    head: Head = fact("job", "Which job is this?", default=...)
    site: Site = fact("place", "Where does the equipment go?")
    other_places: dict[str, Spot] = fact(
        "other places", "At which other places does equipment stand?", default={}
    )
    supply: Supply = fact("supply", "What is the supply?", default=...)
    earthing: Earthing = fact("earthing", "How is the house earthed?", default=...)
    placement: Placement = fact("equipment", "Which equipment?", default=...)
    isolation: Isolation = fact("isolation", "How is the inverter isolated?")
    generator: GeneratorInlet | None = fact(
        "generator inlet",
        "Has the house an inlet or a change-over for a generator?",
        "look at the outer walls and beside the boards; `none` where there is none",
    )
    boards: dict[str, Board] = fact("boards", "Which boards are there?", default=...)
    same_for_all_cables: SameFor | None = fact("same for all cables", "", default=None)
    same_for_all_circuits: SameFor | None = fact("same for all circuits", "", default=None)
    cables: dict[str, Cable] = fact("cables", "Which cables are there?", default=...)
    circuits: dict[str, Circuit] = fact("circuits", "Which circuits are there?", default=...)
    dc_cables: dict[str, DcCable] = fact(
        "battery and PV cables",
        "Which d.c. cables run from battery and PV array to the inverter?",
        "follow them; `none` where there are none, or the maker has joined them in one case",
    )

    _equipment: dict[str, AnyEquipment] = PrivateAttr(default_factory=dict)
    _input_hash: str = PrivateAttr("")

    @property
    def input_hash(self) -> str:
        """SHA-256 over the job file and its equipment files, hexadecimal."""
        return self._input_hash

    @property
    def switch(self) -> IslandingSwitch:
        """Datasheet of the islanding switch."""
        return self._kind(self.placement.islanding_switch, IslandingSwitch)

    @property
    def inverter(self) -> Inverter:
        """Datasheet of the inverter."""
        return self._kind(self.placement.inverter, Inverter)

    @property
    def battery(self) -> Battery | None:
        """Datasheet of the battery, None where there is none."""
        placed = self.placement.battery
        return None if placed is None else self._kind(placed, Battery)

    @property
    def pv(self) -> PvArray | None:
        """Datasheet of the PV array, None where there is none."""
        placed = self.placement.pv
        return None if placed is None else self._kind(placed, PvArray)

    def _kind(self, placed: Placed, kind: type[T]) -> T:
        found = self.__pydantic_private__["_equipment"][placed.model]  # type: ignore[index]
        if not isinstance(found, kind):
            msg = f"{placed.model} is not a {kind.__name__}"
            raise TypeError(msg)
        return found

    @property
    def phases(self) -> tuple[str, ...]:
        """Lines of the supply, in order."""
        return _PHASES[self.supply.form]

    def lines_of(self, circuit: Circuit) -> tuple[str, ...]:
        """Lines of a circuit; on a one-phase supply there is only one."""
        stated: tuple[str, ...] | None = circuit.__dict__.get("lines")
        if stated is None and self.supply.form == "one phase":
            return ("L1",)
        return stated or circuit.lines
