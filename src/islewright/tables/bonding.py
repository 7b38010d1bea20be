"""Main bonding on a supply whose neutral is earthed all along the street."""

from __future__ import annotations

import math
from typing import NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, read

__all__ = ["bonding_pme_mm2"]


class _Bonding(NamedTuple):
    neutral_above_mm2: float
    neutral_to_mm2: float | None
    size_mm2: float
    source: str
    confirmed: str


def bonding_pme_mm2(neutral_mm2: float) -> Figure:
    """Least main bonding conductor of copper on a supply with a PEN (protective multiple earthing).

    Parameters
    ----------
    neutral_mm2 : the operator's neutral, in copper or its equivalent [mm²]

    Returns
    -------
    cross-section [mm²]

    Raises
    ------
    NotInTable : not a cross-section

    References
    ----------
    BS 7671:2018, Table 54.8.

    >>> float(bonding_pme_mm2(70))
    25.0
    """
    for row in read("bonding_pme", _Bonding):
        top = math.inf if row.neutral_to_mm2 is None else row.neutral_to_mm2
        if row.neutral_above_mm2 < neutral_mm2 <= top:
            return Figure(row.size_mm2, source=row.source, confirmed=row.confirmed)
    raise NotInTable(f"main bonding: no row for a neutral of {neutral_mm2:g} mm²")
