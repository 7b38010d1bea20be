"""A generator, and the inlet through which it feeds the house."""

from typing import Literal

from islewright.job.kinds import ApparentPower, Current, Lines, Name
from islewright.job.laying import Laying
from islewright.job.part import Part, fact

Kept = Literal[
    "change-over switch", "mechanical interlock", "electrical interlock", "software alone", "none"
]
_TRY = "with everything dead, try to have both closed; a program alone is no interlock"
_PLATE = "rating plate of the generator"


class GeneratorInlet(Part):
    """A generator, portable or fixed, and how it is joined to the house."""

    generator: Literal["portable", "fixed"] = fact(
        "generator", "Is the generator portable or fixed?", "look"
    )
    power_va: ApparentPower = fact("power", "What does the generator give for good?", _PLATE)
    lines: Lines = fact("lines", "Which lines does the generator feed?", "follow them")
    feeds: Name = fact("feeds", "Which board does it feed?", "follow the cable")
    breaker_a: Current | None = fact(
        "breaker",
        "What is the rated current of the breaker between generator and inlet?",
        "mostly on the generator; `none` where there is none",
    )
    joined_by: Literal[
        "inlet with recessed pins", "socket-outlet and a lead with two plugs", "fixed wiring"
    ] = fact("joined by", "How is the generator joined to the house?", "look")
    pins: Literal["dead", "can be live"] = fact(
        "pins without plug",
        "Can the inlet's pins be live while nothing is plugged in?",
        "voltage at the pins, network on and in island mode, in every position of the change-over",
    )
    inlet_a: Current = fact("inlet", "What is the rated current of the inlet?", "read it")
    cable: Laying = fact("cable", "Which cable runs from the inlet to the change-over?")
    from_network: Kept = fact(
        "kept from the network by", "What keeps it from running beside the network?", _TRY
    )
    from_inverter: Literal[
        "change-over switch",
        "mechanical interlock",
        "electrical interlock",
        "input of the inverter made for it",
        "software alone",
        "none",
    ] = fact("kept from the inverter by", "What keeps it from running beside the inverter?", _TRY)
    network_neutral: Literal["opened", "stays joined"] = fact(
        "network's neutral",
        "Is the network's neutral opened while the generator feeds?",
        "the change-over's diagram, then a meter, with everything dead",
    )
    own_bond: Literal["present", "none"] = fact(
        "bond in the generator",
        "Is neutral joined to earth inside the generator?",
        "ohmmeter from N to earth, unplugged",
    )
    house_bond: Literal["closed", "none"] = fact(
        "bond in the house",
        "Is neutral joined to earth in the house while the generator feeds?",
        "by a link, by the islanding switch or by the inverter; ask its maker, and measure",
    )
    rcd_a: Current | None = fact(
        "RCD", "At which residual current trips the RCD of generator or inlet?", "read it"
    )
    rcd_at: Literal["house side of the bond", "generator side of the bond"] = fact(
        "RCD stands",
        "On which side of the bond does that RCD stand?",
        "seen from the bond of neutral and earth: on the house's side, or on the generator's",
    )
