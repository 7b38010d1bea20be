"""Times of a device as the gates of its standard bound them; no curve is drawn between.

A gate is a test of the standard: at this current the device holds at least, or opens at
most, for so long. The time falls as the current rises, so a gate at a higher current
bounds the earliest opening, one at a lower current the latest.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING, NamedTuple

from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Gate", "Gates", "opening_a", "too_fast"]


class Gate(NamedTuple):
    """At `current_a` the device holds (earliest) or has opened (latest) at `time_s`."""

    current_a: float
    time_s: float
    source: str
    confirmed: str


class Gates:
    """Both bounds of one device over the current.

    Parameters
    ----------
    earliest : gates at which the device still holds
    latest : gates at which it has opened

    Raises
    ------
    ValueError : a gate with a higher current has a longer time
    """

    __slots__ = ("_early_a", "_early_s", "_late_a", "_late_s", "earliest", "latest")

    def __init__(self, earliest: list[Gate], latest: list[Gate]) -> None:
        self.earliest = tuple(sorted(earliest))
        self.latest = tuple(sorted(latest))
        for gates in (self.earliest, self.latest):
            times = [gate.time_s for gate in gates]
            if times != sorted(times, reverse=True):
                raise ValueError(f"times do not fall with the current: {gates}")
        self._early_a = [gate.current_a for gate in self.earliest]
        self._early_s = [*(gate.time_s for gate in self.earliest), 0.0]
        self._late_a = [gate.current_a for gate in self.latest]
        self._late_s = [math.inf, *(gate.time_s for gate in self.latest)]

    def time_s(self, current_a: float) -> tuple[float, float]:
        """Bound the opening time at one current.

        Parameters
        ----------
        current_a : r.m.s. current that really flows, not negative [A]

        Returns
        -------
        earliest and latest [s]; (inf, inf) where it never opens, NaN for no current at all
        """
        if not current_a >= 0:
            return math.nan, math.nan
        early = self._early_s[bisect_left(self._early_a, current_a)]
        late = self._late_s[bisect_right(self._late_a, current_a)]
        return early, late

    def times_s(self, current_a: Array) -> tuple[Array, Array]:
        """Bound the opening times at many currents, as `time_s` does at one.

        Parameters
        ----------
        current_a : r.m.s. currents, any shape [A]

        Returns
        -------
        earliest and latest, each of the shape of `current_a` [s]
        """
        import numpy as np

        known = current_a >= 0
        early = np.asarray(self._early_s)[np.searchsorted(self._early_a, current_a, side="left")]
        late = np.asarray(self._late_s)[np.searchsorted(self._late_a, current_a, side="right")]
        return np.where(known, early, np.nan), np.where(known, late, np.nan)

    def opening(self, within_s: float) -> Gate | None:
        """Find the smallest current at which it has surely opened in this time, if any."""
        return next((gate for gate in self.latest if gate.time_s <= within_s), None)

    def fastest(self) -> Gate:
        """Find the gate with the shortest time that the standard promises."""
        return self.latest[-1]


def opening_a(gates: Gates, within_s: float, what: str) -> Figure:
    """Find the least current at which a device has surely opened in this time [A].

    Raises
    ------
    NotInTable : the standard promises no such time; the message says the shortest
    """
    gate = gates.opening(within_s)
    if gate is None:
        raise too_fast(what, within_s, gates.fastest())
    return Figure(gate.current_a, source=gate.source, confirmed=gate.confirmed)


def too_fast(what: str, within_s: float, fastest: Gate) -> NotInTable:
    """Make the exception for a time that the standard does not promise."""
    return NotInTable(
        f"{what}: no current is listed for {within_s:g} s; the shortest time is "
        f"{fastest.time_s:g} s, at {fastest.current_a:g} A"
    )
