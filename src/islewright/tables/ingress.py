"""External influences of water and dust, and the IP numeral that each asks for."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, read

__all__ = ["numeral_against"]


class _Row(NamedTuple):
    against: str
    influence: str
    code: str
    numeral: int
    source: str
    confirmed: str


@cache
def _rows() -> dict[tuple[str, str], _Row]:
    return {(row.against, row.influence): row for row in read("ingress", _Row)}


def numeral_against(against: str, influence: str) -> tuple[Figure, str]:
    """IP numeral that an enclosure must bear where an influence reaches it.

    Parameters
    ----------
    against : "water" (second numeral) or "dust" (first numeral)
    influence : such as "splashes" or "light dust"

    Returns
    -------
    the least numeral, and the code of the influence

    Raises
    ------
    NotInTable : no such influence

    References
    ----------
    IEC 60364-5-51, Table 51A; IEC 60529.

    >>> numeral, code = numeral_against("water", "splashes")
    >>> int(numeral), code
    (4, 'AD4')
    """
    found = _rows().get((against, influence))
    if found is None:
        listed = ", ".join(word for kind, word in _rows() if kind == against)
        raise NotInTable(f"{influence} is not listed against {against}; listed are {listed}")
    return Figure(float(found.numeral), source=found.source, confirmed=found.confirmed), found.code
