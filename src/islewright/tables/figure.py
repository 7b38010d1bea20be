"""A figure that knows where it comes from."""

from __future__ import annotations

from collections.abc import Callable
from typing import Self

__all__ = ["Figure"]


class Figure(float):
    """A float with its source, how far that is confirmed, and an absolute spread.

    Arithmetic gives a plain float, so nothing derived carries a source by accident.

    Attributes
    ----------
    source : standard, handbook or other place that the figure stands in
    confirmed : "two pages", "page" or "memory"
    spread : how far the true figure may lie from this one, in the figure's own unit; None
        where a person wrote none down (the profile's figure counts then)
    """

    __slots__ = ("confirmed", "source", "spread")

    source: str
    confirmed: str
    spread: float | None

    def __new__(
        cls, value: float, *, source: str, confirmed: str, spread: float | None = 0.0
    ) -> Self:
        figure = super().__new__(cls, value)
        object.__setattr__(figure, "source", source)
        object.__setattr__(figure, "confirmed", confirmed)
        object.__setattr__(figure, "spread", spread)
        return figure

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError("a Figure does not change")

    def __reduce__(self) -> tuple[Callable[..., Figure], tuple[float, str, str, float | None]]:
        return _rebuild, (float(self), self.source, self.confirmed, self.spread)

    def __repr__(self) -> str:
        return f"Figure({float(self)!r}, source={self.source!r}, confirmed={self.confirmed!r})"

    def __str__(self) -> str:
        return float.__repr__(self)


def _rebuild(value: float, source: str, confirmed: str, spread: float | None) -> Figure:
    return Figure(value, source=source, confirmed=confirmed, spread=spread)
