"""Surge arresters of a board: what their plates and the makers' sheets say, how they lie."""

from __future__ import annotations

from typing import Literal

from islewright.job.kinds import Length, Name, Time, Voltage
from islewright.job.part import Part, fact, sheet


class Overvoltage(Part):
    """A temporary overvoltage that an arrester is tested with."""

    voltage_v: Voltage = sheet("voltage", "Which temporary overvoltage U_T?")
    for_s: Time = sheet("for", "For how long?")
    then: Literal["withstands", "fails safely"] = sheet(
        "then", "Does it work afterwards, or fail in a safe way?"
    )


class SurgeArrester(Part):
    """The surge arresters of a board."""

    type: Literal["1", "1+2", "2", "3"] = fact("type", "Of which type is it?", "read it on it")
    connection: Literal["lines to neutral", "lines to PE"] = fact(
        "connection",
        "Do its lines discharge to the neutral, with one path from there to PE, or each to PE?",
        "look at the links and the sign",
    )
    line_u_c_v: Voltage = fact(
        "U_c", "What is its continuous voltage U_c of a line?", "read it on it"
    )
    neutral_u_c_v: Voltage = fact(
        "U_c of the neutral", "What is its U_c from neutral to PE?", "read it on it"
    )
    overvoltages: dict[str, Overvoltage] = sheet(
        "temporary overvoltages", "With which temporary overvoltages of a line is it tested?"
    )
    leads_m: Length = fact(
        "leads",
        "How long are its leads, from the line to it and from it to the earth bar together?",
        "measure along the wires",
    )
    behind: Name | None = fact("behind", "Behind which RCD of its board?", "look", default=None)
    state: Literal["existing", "new"] = fact("state", "Is it existing or new?")
