"""The inverse of a state by parts: bars that no state touches are taken out beforehand.

Each bar behind one contact group is a small block of its own, inverted once for all states
of a layout; a state inverts what is left. Exact: block elimination, no iteration.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]


class Order:
    """Which unknowns are inner, of a bar, and which are left; the same hot and cold.

    Parameters
    ----------
    size : count of unknowns
    bars : arrays (m, k) of unknowns

    Attributes
    ----------
    inner, rest : the unknowns of each kind
    back : place of each unknown among the inner ones and then the rest
    flat : (u, u) places of the matrix's own order in one that is laid out so
    """

    def __init__(self, size: int, bars: Sequence[Integers]) -> None:
        self.inner = np.concatenate([b.ravel() for b in bars] or [np.zeros(0, dtype=np.intp)])
        kept = np.ones(size, dtype=bool)
        kept[self.inner] = False
        self.rest = np.flatnonzero(kept)
        self.back = np.argsort(np.concatenate([self.inner, self.rest]))
        self.flat = self.back[:, None] * size + self.back

    @cached_property
    def room(self) -> Complex:
        """Room to work in (u, u): new memory of this size for each state costs much."""
        return np.empty(self.flat.shape, dtype=np.complex128)


class Condensed:
    """A symmetric matrix with its bars taken out.

    Parameters
    ----------
    matrix : (u, u), every branch closed
    bars : arrays (m, k) of unknowns; bars must not touch each other
    order : of these bars, where it is known

    Raises
    ------
    numpy.linalg.LinAlgError : a bar has no definite voltage even with all else held
    """

    def __init__(
        self, matrix: Complex, bars: Sequence[Integers], order: Order | None = None
    ) -> None:
        self._order = order = order or Order(len(matrix), bars)
        self._inner, self._rest, self._back = order.inner, order.rest, order.back
        n = len(self._inner)
        self._own = np.zeros((n, n), dtype=np.complex128)  # the bars' own inverses
        self._left = matrix[self._rest[:, None], self._rest]
        self._ways: list[_Way] = []
        start = 0
        for bar in bars:
            own = np.linalg.inv(matrix[bar[:, :, None], bar[:, None, :]])
            beside = matrix[bar[:, :, None], self._rest]
            to = _beside(beside)
            beside = np.take_along_axis(beside, to[:, None, :], 2)
            way = own @ beside
            less = beside.swapaxes(1, 2) @ way
            np.subtract.at(self._left, (to[:, :, None], to[:, None, :]), less)
            where = (start + np.arange(bar.size)).reshape(bar.shape)
            self._own[where[:, :, None], where[:, None, :]] = own
            self._ways.append(_Way(slice(start, start + bar.size), to, way))
            start += bar.size

    def reaches(self, unknowns: Integers) -> bool:
        """Whether all of these lie in the rest, so that a state may open them."""
        return bool((self._back[unknowns] >= len(self._inner)).all())

    def rest_of(self, opened: Integers) -> Complex:
        """Inverse of what is left, with the branches `opened` held at no current.

        Raises
        ------
        numpy.linalg.LinAlgError : singular
        """
        left = self._left.copy()
        at = self._back[opened] - len(self._inner)
        left[at, :] = 0
        left[:, at] = 0
        left[at, at] = 1
        found = np.linalg.inv(left)
        # it is symmetric but for rounding, and both its rows and its columns are read
        return ((found + found.T) / 2).astype(np.complex128, copy=False)

    def whole(self, rest: Complex) -> Complex:
        """Inverse of the whole matrix, in its own order."""
        n = len(self._inner)
        found = self._order.room
        found[n:, n:] = rest
        for way in self._ways:
            found[way.rows, n:] = -way.brought(rest)
        found[n:, :n] = found[:n, n:].T
        for way in self._ways:  # rows of the bars' own, by the columns of what they hang on
            found[way.rows, :n] = self._own[way.rows] - way.brought(found[n:, :n])
        back: Complex = found.take(self._order.flat)
        return back

    def columns(self, rest: Complex, unknowns: Integers) -> Complex:
        """Some columns of that inverse (u, k)."""
        n, at = len(self._inner), self._back[unknowns]
        found = np.empty((len(self._back), len(at)), dtype=np.complex128)
        for k, j in enumerate(at.tolist()):
            found[n:, k] = rest[:, j - n] if j >= n else -(rest @ self._way_to(j))
        found[:n] = np.where(at < n, self._own[:, np.minimum(at, n - 1)], 0) if n else 0
        for way in self._ways:
            found[way.rows] -= way.brought(found[n:])
        return found.take(self._back, axis=0)

    def _way_to(self, inner: int) -> Complex:
        """Volts of one inner unknown per unknown of the rest (r)."""
        found = np.zeros(len(self._rest), dtype=np.complex128)
        way = next(each for each in self._ways if inner < each.rows.stop)
        bar, k = divmod(inner - way.rows.start, way.volts.shape[1])
        found[way.to[bar]] = way.volts[bar, k]
        return found

    def largest_column(self, rest: Complex) -> float:
        """A bound from above on the largest column sum of |entry| of that inverse."""
        n, size = len(self._inner), np.abs(rest)
        reach = np.zeros((n, len(self._rest)))  # |volts| of the inner per unknown of the rest
        for way in self._ways:
            count = way.volts.shape[1]
            rows = np.arange(way.rows.start, way.rows.stop).reshape(-1, count)
            reach[rows[:, :, None], way.to[:, None, :]] = np.abs(way.volts)
        outer = (1 + reach.sum(axis=0)) @ size  # column sums of the rest's own unknowns
        inner = np.abs(self._own).sum(axis=0) + reach @ outer
        return float(max(outer.max(initial=0.0), inner.max(initial=0.0)))


class Response:
    """A state's inverse, worked out as far as it is asked for.

    Parameters
    ----------
    condensed : the matrix with its bars taken out
    opened : branch currents held at nothing; they must all lie in the rest

    Raises
    ------
    numpy.linalg.LinAlgError : singular
    """

    def __init__(self, condensed: Condensed, opened: Integers) -> None:
        self._condensed, self._rest = condensed, condensed.rest_of(opened)

    @cached_property
    def whole(self) -> Complex:
        """The whole of it (u, u)."""
        return self._condensed.whole(self._rest)

    def columns(self, unknowns: Integers) -> Complex:
        """Some columns (u, k)."""
        if "whole" in self.__dict__:
            return self.whole[:, unknowns]
        return self._condensed.columns(self._rest, unknowns)

    def largest_column(self) -> float:
        """A bound from above on its largest column sum of |entry|."""
        return self._condensed.largest_column(self._rest)


class Dense(Response):
    """An inverse that was worked out whole, where bars could not be taken out.

    Parameters
    ----------
    matrix : (u, u) of the state
    """

    def __init__(self, matrix: Complex) -> None:
        self.__dict__["whole"] = np.linalg.inv(matrix).astype(np.complex128, copy=False)

    def largest_column(self) -> float:
        """Its largest column sum of |entry|."""
        return float(np.abs(self.whole).sum(axis=0).max())


class _Way(NamedTuple):
    """Bars of one size: their rows among the inner unknowns, and what they hang on.

    `to` (m, w) unknowns of the rest that bar m touches, filled up by others with no weight;
    `volts` (m, k, w) inner unknowns of a bar per unknown of the rest.
    """

    rows: slice
    to: Integers
    volts: Complex

    def brought(self, rest: Complex) -> Complex:
        """What the bars take on from rows of the rest (r, c): (m k, c)."""
        found: Complex = self.volts @ rest[self.to]
        bars, count, _ = self.volts.shape
        return found.reshape(bars * count, rest.shape[1])


def _beside(matrix: Complex) -> Integers:
    """Unknowns of the rest that each bar (m, k, r) touches, filled up to the same count (m, w).

    What fills up is a column of zeros, so that it counts for nothing.
    """
    touched = (matrix != 0).any(axis=1)
    count = int(touched.sum(axis=1).max(initial=0))
    found: Integers = np.argsort(~touched, axis=1, kind="stable")[:, :count]
    return found
