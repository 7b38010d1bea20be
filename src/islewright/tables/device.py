"""Protective devices of all kinds under one name."""

from __future__ import annotations

from islewright.tables.breaker import (
    breaking_capacities_a,
    mcb_band_a,
    mcb_conventional_a,
    mcb_gates,
    mcb_let_through_a2s,
    mcb_opening_current_a,
    mcb_ratings_a,
    mcb_time_s,
    mcb_times,
)
from islewright.tables.fuse import (
    fuse_conventional_a,
    fuse_gg_gates,
    fuse_gg_let_through_a2s,
    fuse_gg_opening_current_a,
    fuse_gg_ratings_a,
    fuse_gg_time_s,
    fuse_gg_times,
)
from islewright.tables.rcd import (
    rcd_gates,
    rcd_opening_current_a,
    rcd_ratings_a,
    rcd_time_s,
    rcd_times,
)
from islewright.tables.rows import NotInTable

__all__ = [
    "breaking_capacities_a",
    "fuse_conventional_a",
    "fuse_gg_gates",
    "fuse_gg_let_through_a2s",
    "fuse_gg_opening_current_a",
    "fuse_gg_ratings_a",
    "fuse_gg_time_s",
    "fuse_gg_times",
    "mcb_band_a",
    "mcb_conventional_a",
    "mcb_gates",
    "mcb_let_through_a2s",
    "mcb_opening_current_a",
    "mcb_ratings_a",
    "mcb_time_s",
    "mcb_times",
    "ratings_a",
    "rcd_gates",
    "rcd_opening_current_a",
    "rcd_ratings_a",
    "rcd_time_s",
    "rcd_times",
]


def ratings_a(kind: str = "breaker") -> tuple[float, ...]:
    """Rated currents that are made, rising [A].

    Parameters
    ----------
    kind : "breaker" or "gG"

    Raises
    ------
    NotInTable : no such kind

    References
    ----------
    IEC 60898-1:2015, 5.3.2 (2 and 4 A are sold beside its list); IEC 60269-2.
    """
    if kind == "breaker":
        return mcb_ratings_a()
    if kind == "gG":
        return fuse_gg_ratings_a()
    raise NotInTable(f"ratings of {kind} are not listed; listed are breaker and gG")
