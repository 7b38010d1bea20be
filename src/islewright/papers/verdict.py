"""The verdict of the pack: one sentence about building, and what it rests on.

Nothing unknown passes: only a study whose every finding is met may be built from.
"""

from __future__ import annotations

from collections.abc import Mapping

from islewright.findings import Status
from islewright.papers.say import capital, counted, number

ORDER = (Status.NOT_MET, Status.NEAR, Status.UNDECIDED, Status.MET)


def verdict(counts: Mapping[Status, int]) -> tuple[str, list[str]]:
    """The headline, and the paragraphs below it.

    >>> verdict({Status.MET: 12})[0]
    'Ready to build, as far as this pack goes'
    """
    if counts.get(Status.NOT_MET, 0):
        return "Not ready to build", [
            _what_stands_against(counts),
            "Nothing here may be connected until they are settled and the pack is made again.",
        ]
    if counts.get(Status.UNDECIDED, 0):
        return "Not ready to build: questions are open", [
            _what_stands_against(counts),
            "What is not known counts as not safe. Answer the questions and make the pack again.",
        ]
    if counts.get(Status.NEAR, 0):
        return "Measure before you build", [
            _what_stands_against(counts),
            "Each value is within its limit, but by less than readings and lengths may be out.",
        ]
    if not counts.get(Status.MET, 0):
        return "Not ready to build: nothing was judged", [
            "No demand could be held against this job."
        ]
    return "Ready to build, as far as this pack goes", [
        f"All {counts[Status.MET]} demands are met. What the pack does not cover stands below."
    ]


def _what_stands_against(counts: Mapping[Status, int]) -> str:
    words = {
        Status.NOT_MET: "not met",
        Status.UNDECIDED: "undecided",
        Status.NEAR: "near the limit",
    }
    parts: list[str] = []
    for status, word in words.items():
        count = counts.get(status, 0)
        if not count:
            continue
        noun = counted(count, "finding") if not parts else number(count)
        parts.append(f"{noun} {'is' if count == 1 else 'are'} {word}")
    text = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return capital(text) + "."
