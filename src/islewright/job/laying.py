"""How a cable is made and laid: what its current-carrying capacity hangs on."""

from typing import Literal

from islewright.job.kinds import (
    AS_LINE,
    Count,
    EarthSize,
    Length,
    Millimetres,
    Name,
    Size,
    SoilResistivity,
    Spacing,
    Temperature,
)
from islewright.job.part import Part, fact

Existing = Literal["existing", "new"]
STATE = "Is it existing or new?"


class Laying(Part):
    """How a cable is made and laid: everything that its current-carrying capacity needs."""

    type: Name = fact("type", "Which cable type is it?", "read the sheath", default="")
    size_mm2: Size = fact(
        "size", "Which cross-section has the cable?", "read the sheath or measure"
    )
    earth_mm2: EarthSize | None = fact(
        "earth",
        "Which cross-section has the protective conductor?",
        "read the sheath or measure; `as line` where it has the lines' cross-section",
    )
    earth_run: Literal["in the cable", "separate, protected", "separate, not protected"] = fact(
        "earth runs", "Is the protective conductor in the cable or conduit?", default="in the cable"
    )
    second_earth_mm2: Size | None = fact(
        "second earth", "Which cross-section has a second protective conductor?", default=None
    )
    length_m: Length = fact("length", "How long is the cable?", "measure along the route")
    material: Literal["copper", "aluminium"] = fact(
        "material", "Of what metal are the cores?", "look"
    )
    insulation: Literal["PVC", "XLPE"] = fact(
        "insulation", "Which insulation has it?", "read the sheath"
    )
    method: Literal["A1", "A2", "B1", "B2", "C", "D1", "D2", "E", "F", "G"] = fact(
        "method",
        "How is it laid?",
        "A1/A2 in insulated wall, B1/B2 in conduit, C on the wall, "
        "D1/D2 in the ground, E/F/G free in air",
    )
    ambient_c: Temperature = fact(
        "ambient", "How warm is it along the route?", "judge the warmest part"
    )
    grouped_with: Count = fact(
        "grouped circuits",
        "How many loaded circuits run together, this one included?",
        "count them",
    )
    spacing: Spacing = fact(
        "spacing",
        "How far apart do the buried cables lie that run together?",
        "left out, they touch, which is the worst",
        default="touching",
    )
    insulated_m: Length | None = fact(
        "in insulation",
        "Over which length does thermal insulation surround the cable all round?",
        "look in loft and walls; `none` where none does",
    )
    soil_k_m_per_w: SoilResistivity = fact(
        "soil resistivity", "What is the soil's thermal resistivity?"
    )
    wall_depth_m: Length | None = fact(
        "depth in the wall",
        "How deep below the surface of a wall does it lie where it lies shallowest?",
        "a cable detector, or the old plans; `none` where it lies in no wall, or earthed metal "
        "lies round it",
    )
    outside_diameter_mm: Millimetres = fact(
        "outside diameter", "How thick is the cable?", "measure it"
    )
    state: Existing = fact("state", STATE)

    @property
    def pe_mm2(self) -> float | None:
        """Cross-section of the protective conductor [mm²]; None where there is none."""
        if self.earth_mm2 is None:
            return None
        return self.size_mm2 if self.earth_mm2 == AS_LINE else float(self.earth_mm2)
