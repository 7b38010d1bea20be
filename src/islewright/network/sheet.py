"""What a state looks like to a reader: positions, what is alive, where N meets earth.

Filled by `network.tell`; drawn by the drawings and printed by the papers. No text about
rules, no layout.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from islewright.findings import Question


@dataclass(frozen=True, slots=True, kw_only=True)
class StateSheet:
    """One supply state, told.

    Attributes
    ----------
    name : the state, such as "island, on the battery"
    mode : "grid mode" or "island mode"
    closed : position of each contact: "main fuse", "islanding switch L1" .. "islanding
        switch N", "bond", "bypass", "main switch BOARD", each True when closed
    alive : place -> alive (True), dead (False), not known (None); places are "supply",
        board names, "BOARD/RCD", "islanding switch/grid", "islanding switch/house",
        "inverter", and "circuit NAME"
    volts : place -> largest voltage of a line to true earth there [V]
    fed_by : the sources that run, in words
    system : system earthing of this state, such as "TN-S"
    neutral_earthed_at : where neutral and earth are joined, in words
    bond : what the neutral-earth bond does, in words
    means_of_earthing : what holds the earthing terminal at earth, in words
    always_alive : what stays alive whatever the switch does, in words
    """

    name: str
    mode: str
    closed: Mapping[str, bool]
    alive: Mapping[str, bool | None]
    volts: Mapping[str, float]
    fed_by: str
    system: str
    neutral_earthed_at: str
    bond: str
    means_of_earthing: str
    always_alive: tuple[str, ...]


@dataclass(slots=True, kw_only=True)  # not frozen: made by the hundred, changed by nobody
class RaceBar:
    """One of those that can end a fault: `earliest_s` to `latest_s` [s], inf = never.

    `role` is "RCD", "device" or "inverter"; `name` such as "R3", "B16", "inverter".
    `current_a` is what this one sees [A]; `volts` what an RCD has meanwhile, line to neutral
    at its own bar [V], NaN for what needs none. `rank` is "first in every case", "may be
    first" or "later". `questions` are what is missing to know its time.
    """

    role: str
    name: str
    current_a: float
    earliest_s: float
    latest_s: float
    rank: str
    questions: tuple[Question, ...] = ()
    volts: float = math.nan

    def ranked(self, rank: str) -> RaceBar:
        """The same bar with its place in the order."""
        return RaceBar(
            role=self.role,
            name=self.name,
            current_a=self.current_a,
            earliest_s=self.earliest_s,
            latest_s=self.latest_s,
            rank=rank,
            questions=self.questions,
            volts=self.volts,
        )

    @property
    def known(self) -> bool:
        """Whether its time follows from stated figures."""
        return not self.questions


@dataclass(frozen=True, slots=True, kw_only=True)
class RaceRow:
    """What happens on an earth fault at one place in an island state.

    Attributes
    ----------
    place : "circuit NAME" or "cable NAME"; `kind` such as "L1-PE"; `end` "far" or "near"
    current_a : fault current that flows [A], limited where `limited`
    voltage_left_v : line to neutral at the board during the fault [V]
    touch_v : exposed part to the main earthing terminal [V]; `touch_earth_v` to true earth
    allowed_s : time allowed by Table 41.1 for the system of the state [s]; NaN where open
    bars : RCD, device and inverter in the order of the network
    alive_after : what is alive afterwards, in words
    """

    place: str
    kind: str
    end: str
    current_a: float
    limited: bool
    voltage_left_v: float
    touch_v: float
    touch_earth_v: float
    allowed_s: float
    bars: tuple[RaceBar, ...]
    alive_after: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A figure that the model needs and the job does not state, shown wherever it counts."""

    what: str
    value: str
    why: str
