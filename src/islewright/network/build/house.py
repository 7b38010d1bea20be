"""The order in which a house is built, and what a gap in it stains."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from islewright.findings import Question
from islewright.job.model import Job
from islewright.network.parts import Parts
from islewright.network.places import GRID_SIDE, HOUSE_SIDE, canonical
from islewright.tables.profile import Profile


@dataclass(frozen=True)
class House:
    """What every builder needs: the job, the profile's assumptions, the elements so far."""

    job: Job
    profile: Profile
    parts: Parts

    @cached_property
    def contact_ohm(self) -> float:
        """Resistance of a contact or joint that nobody describes [Ω]."""
        return float(self.profile.number("network.contact"))

    @cached_property
    def live(self) -> tuple[str, ...]:
        """Lines of the supply and N."""
        return (*self.job.phases, "N")

    def lacks(self, what: str, *questions: Question) -> None:
        """Note that something could not be built, and what to ask."""
        before = self.parts.missing.get(what, ())
        self.parts.missing[what] = tuple(dict.fromkeys((*before, *questions)))

    def lacks_too(self, what: str, other: str) -> None:
        """Note that something lacks all that another thing lacks."""
        if other in self.parts.missing:
            self.lacks(what, *self.parts.missing[other])


def build(job: Job, profile: Profile) -> Parts:
    """All elements of a job; what cannot be built is noted in `missing`.

    Raises
    ------
    Unknown : a figure without which no state at all can be solved
    """
    from islewright.network.build.boards import boards, islanding_switch
    from islewright.network.build.earth import earthing, split_of_pen
    from islewright.network.build.pv import pv
    from islewright.network.build.runs import cables, circuits
    from islewright.network.build.sources import inverter, public_supply

    parts = Parts(float(job.supply.frequency_hz), float(job.supply.nominal_voltage_v))
    house = House(job, profile, parts)
    for step in (public_supply, earthing, boards, islanding_switch, inverter, pv, cables,
                 split_of_pen, spread_stains, circuits):  # fmt: skip
        step(house)
    return parts


def spread_stains(house: House) -> None:
    """A cable with a gap leaves everything that hangs behind it undecided."""
    missing = house.parts.missing
    cables = house.job.cables
    for _ in cables:
        for name, cable in cables.items():
            why = (*missing.get(f"cable {name}", ()), *missing.get(f"place {cable.from_}", ()))
            if why:
                house.lacks(f"place {canonical(cable.to)}", *why)
        if f"place {GRID_SIDE}" in missing:
            house.lacks(f"place {HOUSE_SIDE}", *missing[f"place {GRID_SIDE}"])
