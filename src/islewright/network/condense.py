"""The inverse of a state by parts: bars that no state touches are taken out beforehand.

Each bar behind one contact group is a small block of its own, inverted once for all states
of a layout; a state inverts what is left. Exact: block elimination, no iteration.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

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
        ways = [np.zeros((0, len(self._rest)), dtype=np.complex128)]
        start = 0
        for bar in bars:
            own = np.linalg.inv(matrix[bar[:, :, None], bar[:, None, :]])
            way = own @ matrix[bar[:, :, None], self._rest[None, None, :]]
            ways.append(way.reshape(-1, len(self._rest)))
            where = (start + np.arange(bar.size)).reshape(bar.shape)
            self._own[where[:, :, None], where[:, None, :]] = own
            start += bar.size
        self._room = np.empty_like(matrix)
        self._way = np.concatenate(ways)  # inner unknowns per unknown of the rest
        self._left = matrix[np.ix_(self._rest, self._rest)] - (
            matrix[np.ix_(self._rest, self._inner)] @ self._way
        )

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
        n, way = len(self._inner), self._way
        found = self._room  # the same for every state: new memory of this size costs much
        found[n:, n:] = np.linalg.inv(left)
        found[:n, n:] = -way @ found[n:, n:]
        found[n:, :n] = found[:n, n:].T
        found[:n, :n] = self._own - found[:n, n:] @ way.T
        back: Complex = found.take(self._flat)
        return back
