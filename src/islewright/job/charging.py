"""A point at which a vehicle charges: what protects it besides the circuit's own devices."""

from typing import Literal

from islewright.job.device import Residual
from islewright.job.kinds import Count
from islewright.job.part import Part, fact

MAKER = "the maker"


class Charging(Part):
    """The charging points of one circuit."""

    points: Count = fact("points", "How many charging points hang on the circuit?", "count them")
    dc_detection: Literal["6 mA d.c.", "none"] = fact(
        "detection",
        "Does the charging point switch off at 6 mA of smooth d.c. fault current?",
        "the maker's sheet; `none` where it does not",
        whom=MAKER,
    )
    residual: Residual | None = fact(
        "RCD inside", "Has the charging point an RCD of its own inside?", "the maker's sheet"
    )
    open_pen: Literal[
        "opens, probe in the ground", "opens, watches the voltages", "own electrode", "none"
    ] = fact(
        "open PEN",
        "What keeps the vehicle safe when the PEN in the street is open?",
        "the maker's sheet says how the point finds an open PEN, and that it opens PE too; "
        "`own electrode` where its PE is not joined to that of the house",
    )
