"""The inverse of a state by parts: bars that no state touches are taken out beforehand.

Each bar behind one contact group is a small block of its own, inverted once for all states
of a layout; a state inverts what is left. Exact: block elimination, no iteration.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Complex = NDArray[np.complex128]
    Integers = NDArray[np.intp]
    Booleans = NDArray[np.bool_]


class Condensed:
    """A symmetric matrix with its bars taken out.

    Parameters
    ----------
    matrix : (u, u), every branch closed
    bars : arrays (m, k) of unknowns; bars must not touch each other

    Raises
    ------
    numpy.linalg.LinAlgError : a bar has no definite voltage even with all else held
    """

    def __init__(self, matrix: Complex, bars: Sequence[Integers]) -> None:
        self._inner = np.concatenate([b.ravel() for b in bars] or [np.zeros(0, dtype=np.intp)])
        kept = np.ones(len(matrix), dtype=bool)
        kept[self._inner] = False
        self._rest = np.flatnonzero(kept)
        self._back = np.argsort(np.concatenate([self._inner, self._rest]))
        self._flat = self._back[:, None] * len(matrix) + self._back  # in the matrix's own order
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
        self._room = np.empty_like(matrix)

    def reaches(self, unknowns: Integers) -> bool:
        """Whether all of these lie in the rest, so that `inverse` may open them."""
        return bool((self._back[unknowns] >= len(self._inner)).all())

    def inverse(self, opened: Integers) -> Complex:
        """Inverse of the matrix with the branches `opened` held at no current.

        Raises
        ------
        numpy.linalg.LinAlgError : singular
        """
        left = self._left.copy()
        at = self._back[opened] - len(self._inner)
        left[at, :] = 0
        left[:, at] = 0
        left[at, at] = 1
        n = len(self._inner)
        found = self._room  # the same for every state: new memory of this size costs much
        found[n:, n:] = np.linalg.inv(left)
        for way in self._ways:
            found[way.rows, n:] = -way.brought(found[n:, n:])
        found[n:, :n] = found[:n, n:].T
        for way in self._ways:  # rows of the bars' own, by the columns of what they hang on
            found[way.rows, :n] = self._own[way.rows] - way.brought(found[n:, :n])
        back: Complex = found.take(self._flat)
        return back


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
        return found.reshape(-1, rest.shape[1])


def _beside(matrix: Complex) -> Integers:
    """Unknowns of the rest that each bar (m, k, r) touches, filled up to the same count (m, w).

    What fills up is a column of zeros, so that it counts for nothing.
    """
    touched = (matrix != 0).any(axis=1)
    count = int(touched.sum(axis=1).max(initial=0))
    found: Integers = np.argsort(~touched, axis=1, kind="stable")[:, :count]
    return found
