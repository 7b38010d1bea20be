"""Outside diameters of cables, as standards and catalogues bound them.

A cable that lies there is measured; this is for one that is still to be bought.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from islewright.tables.rows import NotInTable, not_listed, read

__all__ = ["DiameterRow", "outside_diameter"]


class DiameterRow(NamedTuple):
    """Bounds of the outside diameter of one cable [mm]."""

    type: str
    cores: int
    area_mm2: float
    least_mm: float
    most_mm: float
    source: str
    confirmed: str


@cache
def _by_type() -> dict[str, dict[tuple[int, float], DiameterRow]]:
    found: dict[str, dict[tuple[int, float], DiameterRow]] = {}
    for row in read("cable_diameter", DiameterRow):
        found.setdefault(row.type.casefold(), {})[row.cores, row.area_mm2] = row
    return found


def outside_diameter(type_: str, cores: int, size_mm2: float) -> DiameterRow:
    """Bounds of a round cable's outside diameter.

    Parameters
    ----------
    type_ : what is printed on the sheath, beginning with the type: "H07RN-F 5G6"
    cores : number of cores, all of one size
    size_mm2 : nominal cross-section [mm²]

    Returns
    -------
    the row, with both bounds [mm]

    Raises
    ------
    NotInTable : no such type or size; the message names what there is

    References
    ----------
    EN 50525-2-11 and -2-21; DIN VDE 0250-204 and 0276-603; BS 5467.

    >>> row = outside_diameter("H07RN-F 5G6", 5, 6)
    >>> row.least_mm, row.most_mm
    (17.5, 22.2)
    """
    first = type_.casefold().partition(" ")[0]
    sizes = _by_type().get(first)
    if sizes is None:
        known = ", ".join(dict.fromkeys(row.type for row in read("cable_diameter", DiameterRow)))
        raise NotInTable(f'outside diameter: "{type_}" is not listed; listed are {known}')
    row = sizes.get((cores, size_mm2))
    if row is None:
        listed = [size for count, size in sizes if count == cores]
        raise not_listed(f"outside diameter, {first} of {cores} cores", size_mm2, listed, "mm²")
    return row
