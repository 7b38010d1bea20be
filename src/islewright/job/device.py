"""Protective devices as an installer writes them: `B16`, `gG 63 A`, `C20 RCBO 30 mA type A`.

The short form is one line of words; every word can also be a key of the long form, and
the facts that have no short form (direction of feed, least voltage) only exist there.
"""

import re
from functools import lru_cache
from typing import Any, ClassVar, Literal

from islewright.job.backing import Backing
from islewright.job.kinds import Count, Current, LetThrough, ResidualRating, Voltage, refuse
from islewright.job.part import UNKNOWN, Part, fact

Feed = Literal["one-way", "two-way"]
RcdType = Literal["AC", "A", "F", "B"]
#: form of the current of an earth fault inside a load
FaultWave = Literal["sinusoidal", "pulsed", "up to 6 mA d.c.", "mixed frequencies", "smooth d.c."]


_SHORT = re.compile(
    r"(?P<curve>gG|B|C|D)\s?(?P<i_n>[0-9.]+)(?:\s?A)?"
    r"(?:\s(?P<icn>[0-9.]+\s?kA))?"
    r"(?:\sclass\s(?P<energy>[123]))?"
    r"(?:\sRCBO\s(?P<idn>[0-9.]+\s?m?A)\stype\s(?P<type>AC|A|F|B)(?:\s(?P<delay>S))?)?"
)
_ALLOWED = (
    "a device such as B16, C10 6 kA class 3, gG 63 A or B16 RCBO 30 mA type A; "
    "where more is known of it, a group with `curve`, `rated current` and so on"
)


@lru_cache(maxsize=256)
def _words(text: str) -> dict[str, str] | None:
    """The words of a short form; a board has the same few devices over and over."""
    match = _SHORT.fullmatch(text.strip())
    return None if match is None else match.groupdict()


def read_device(text: str) -> dict[str, Any]:
    """Turn the short form of a device into the keys of its long form.

    Raises
    ------
    PydanticCustomError : not a device
    """
    word = _words(text)
    if word is None:
        raise refuse(text, _ALLOWED)
    long: dict[str, Any] = {"curve": word["curve"], "rated current": f"{word['i_n']} A"}
    if word["icn"]:
        long["breaking capacity"] = word["icn"]
    if word["energy"]:
        long["energy class"] = word["energy"]
    if word["idn"]:
        long["residual"] = {"trips at": word["idn"], "type": word["type"]}
        if word["delay"]:
            long["residual"]["delay"] = word["delay"]
    return long


class Residual(Part):
    """The part of a device that watches the sum of its conductors."""

    trips_at_a: ResidualRating = fact(
        "trips at", "At which residual current is the RCD rated?", "read it on the device"
    )
    type: RcdType = fact("type", "Of which type is the RCD?", "read the sign on the device")
    delay: Literal["none", "S"] = fact(
        "delay", "Is the RCD delayed?", "type S is printed on the device", default="none"
    )
    needs_voltage_v: Voltage | None = fact(
        "needs voltage",
        "Does the RCD need a voltage to trip, and how much?",
        "the maker's sheet; `none` for a device that needs none",
        whom="the maker",
    )
    neutral: Literal["switched", "solid"] = fact(
        "neutral", "Does the device switch the neutral?", "look at the terminals and the sign"
    )
    feed: Feed = fact(
        "feed", "May the device be fed from both sides?", "arrows or line/load marks on the device"
    )


class Rcd(Residual):
    """A residual current device of its own, in front of a group of circuits."""

    rating_a: Current = fact("rating", "What is the RCD's rated current?", "read it on the device")
    short_circuit_a: Current = fact(
        "short circuit",
        "Which short-circuit current does the RCD stand behind its fuse?",
        "the figure in a box on the device",
    )
    state: Literal["existing", "new"] = fact("state", "Is it existing or new?")


class Device(Part):
    """Overcurrent device of a cable or circuit, with residual part where it has one."""

    short_form: ClassVar[tuple[str, ...]] = ("B16", "gG 63 A", "B16 RCBO 30 mA type A")

    curve: Literal["B", "C", "D", "gG"] = fact(
        "curve", "Which curve has the device?", "the letter before the rated current"
    )
    i_n_a: Current = fact("rated current", "What is the rated current?", "read it on the device")
    breaking_capacity_a: Current = fact(
        "breaking capacity", "What can the device break?", "the figure in a box on the device"
    )
    energy_class: Count = fact(
        "energy class", "Which energy limiting class has it?", "the small box below it"
    )
    let_through_a2s: LetThrough | None = fact(
        "lets through",
        "Which energy does it let through at the prospective current?",
        "the maker's curve; left out, its energy class counts",
        whom="the maker",
        default=None,
    )
    backed_up: Backing | None = fact(
        "backed up", "Which fuse before it backs it up, by its maker's table?", default=None
    )
    residual: Residual | None = fact("residual", "Has the device a residual part?", default=None)
    feed: Feed = fact(
        "feed", "May the device be fed from both sides?", "line/load marks on the device"
    )
    neutral: Literal["switched", "solid"] = fact(
        "neutral", "Does the device switch the neutral?", "look at the terminals and the sign"
    )
    state: Literal["existing", "new"] = fact("state", "Is it existing or new?")

    @classmethod
    def from_text(cls, text: str) -> dict[str, Any]:
        """Read the short form, such as `B16 RCBO 30 mA type A`."""
        return super().from_text(text) if text == UNKNOWN else read_device(text)

    @property
    def name(self) -> str:
        """As an installer says it: B16, gG 63 A."""
        return _name(self.curve, self.i_n_a)


@lru_cache(maxsize=256)
def _name(curve: str, i_n_a: float) -> str:
    amps = f"{i_n_a:g}"
    return f"gG {amps} A" if curve == "gG" else f"{curve}{amps}"


#: how a field that holds a device is typed; the short form is read by the part itself
DeviceField = Device
