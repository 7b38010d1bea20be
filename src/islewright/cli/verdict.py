"""The verdict of a check in a sentence, and its exit code."""

from __future__ import annotations

from collections.abc import Mapping

from islewright.findings import Status

ALL_MET, NOT_ALL_MET = 0, 1
_WORDS = {
    Status.NOT_MET: "not met",
    Status.UNDECIDED: "undecided",
    Status.NEAR: "near the limit",
    Status.MET: "met",
}


def headline(counts: Mapping[Status, int]) -> str:
    """What the counts say about building.

    >>> headline({Status.MET: 12})
    'Ready to build, as far as this check goes'
    """
    if counts.get(Status.NOT_MET, 0):
        return "Not ready to build"
    if counts.get(Status.UNDECIDED, 0):
        return "Not ready to build: questions are open"
    if counts.get(Status.NEAR, 0):
        return "Measure before you build"
    if not counts.get(Status.MET, 0):
        return "Not ready to build: nothing was judged"
    return "Ready to build, as far as this check goes"


def tally(counts: Mapping[Status, int]) -> str:
    """How many findings have each status.

    >>> tally({Status.NOT_MET: 1, Status.MET: 40})
    'Of 41 findings 1 is not met, 40 are met.'
    """
    parts = [
        f"{counts[status]} {'is' if counts[status] == 1 else 'are'} {word}"
        for status, word in _WORDS.items()
        if counts.get(status, 0)
    ]
    total = sum(counts.values())
    noun = "finding" if total == 1 else "findings"
    return f"Of {total} {noun} {', '.join(parts) or 'none says anything'}."


def exit_code(counts: Mapping[Status, int]) -> int:
    """0 only where there are findings and every one is met."""
    met = counts.get(Status.MET, 0)
    return ALL_MET if met and met == sum(counts.values()) else NOT_ALL_MET
