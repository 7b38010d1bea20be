"""Profiles: the figures and words in which one country's rules differ from another's.

A profile is a file of rows `key, value, unit, clause, edition`. A key without a value is
not stated: a rule that needs it stays undecided and never falls back on another profile.
The keys under `spread.` and `network.` are assumptions of this program, not of any
standard; a finding that rests on one shows it. All profiles have the same keys. A key with
the value "not applicable" switches off the rules that need it.

    NotInTable (LookupError)     no such profile, or no such key: a mistake in the program
    NotStated (LookupError)      the profile knows the key and has no figure for it
    └─ NotApplicable             its rule set has no such concept: the rule is off
"""

from __future__ import annotations

from functools import cache, cached_property
from typing import NamedTuple

from islewright.tables import limits
from islewright.tables.figure import Figure
from islewright.tables.rows import NotInTable, read

__all__ = ["NotApplicable", "NotStated", "Profile", "ProfileRow", "profile", "profile_names"]

_FILES = {"IEC base": "profile_iec", "GB": "profile_gb"}
NOT_APPLICABLE = "not applicable"


class NotStated(LookupError):
    """The profile has no figure for this key.

    Attributes
    ----------
    key : the key, as in the profile's file
    profile : name of the profile
    """

    def __init__(self, key: str, profile: str) -> None:
        super().__init__(f'the profile "{profile}" states no figure for {key}')
        self.key = key
        self.profile = profile


class NotApplicable(NotStated):
    """The rule set of this profile has no such concept, so that a rule on it is off."""

    def __init__(self, key: str, profile: str) -> None:
        super().__init__(key, profile)
        self.args = (f'{key} is not a concept of the profile "{profile}"',)


class ProfileRow(NamedTuple):
    """One row of a profile; `value` is the text of the file, in `unit`."""

    key: str
    value: str
    unit: str
    clause: str
    edition: str
    source: str
    confirmed: str


class Profile:
    """Rules of one country, or the IEC base; made by `profile`."""

    def __init__(self, name: str, rows: tuple[ProfileRow, ...]) -> None:
        self.name = name
        self._rows = {row.key: row for row in rows}
        self._figures: dict[str, Figure] = {}
        if len(self._rows) != len(rows):
            raise ValueError(f'the profile "{name}" has a key twice')

    def __repr__(self) -> str:
        return f"profile({self.name!r})"

    @property
    def edition(self) -> str:
        """Editions that the profile stands on."""
        return self.text("basis.edition")

    @property
    def release(self) -> str:
        """Short name of this state of the profile's data, such as "IEC base 2026-1"."""
        return f"{self.name} {self.text('basis.release')}"

    @cached_property
    def clause_openings(self) -> tuple[str, ...]:
        """How the clauses of this rule set begin, such as "IEC "."""
        return tuple(f"{opening.strip()} " for opening in self.text("basis.clauses").split(";"))

    @property
    def keys(self) -> tuple[str, ...]:
        """All keys, in the file's order."""
        return tuple(self._rows)

    def row(self, key: str) -> ProfileRow:
        """Look up the whole row of a key, with its clause and edition.

        Raises
        ------
        NotInTable : no such key
        """
        try:
            return self._rows[key]
        except KeyError:
            room = key.partition(".")[0]
            near = [k for k in self._rows if k.startswith(room + ".")] or list(self._rows)
            raise NotInTable(
                f'the profile "{self.name}" has no key {key}; it has {", ".join(near)}'
            ) from None

    def applies(self, key: str) -> bool:
        """Tell whether the rule set has this concept at all: no for "not applicable".

        Raises
        ------
        NotInTable : no such key
        """
        return self.row(key).value != NOT_APPLICABLE

    def text(self, key: str) -> str:
        """Look up a word, such as "with_lines" for `island.neutral_switching`.

        Raises
        ------
        NotInTable : no such key
        NotStated : the profile has nothing for it
        NotApplicable : the concept does not apply
        """
        row = self.row(key)
        if row.value == NOT_APPLICABLE:
            raise NotApplicable(key, self.name)
        if not row.value:
            raise NotStated(key, self.name)
        return row.value

    def number(self, key: str) -> Figure:
        """Look up a figure, in the unit of its row.

        Parameters
        ----------
        key : such as "loop.c_min"

        Returns
        -------
        the figure, in V, A, Ω, s, %, F/m ... as the row's `unit` says

        Raises
        ------
        NotInTable : no such key
        NotStated : the profile has no figure for it
        NotApplicable : the concept does not apply

        >>> float(profile("IEC base").number("disconnection.touch_voltage"))
        50.0
        """
        found = self._figures.get(key)
        if found is None:
            row = self.row(key)
            found = Figure(float(self.text(key)), source=row.source, confirmed=row.confirmed)
            self._figures[key] = found
        return found

    def disconnection_time_s(
        self, system: str, *, u0_v: float, final: bool, sockets: bool, i_n_a: float
    ) -> Figure:
        """Longest time in which a circuit must be cut off after an earth fault.

        Table 41.1 holds for final circuits up to the rated current of the scope; all other
        circuits have 5 s (TN) or 1 s (TT).

        Parameters
        ----------
        system : "TN" or "TT", the system earthing *of the state* that is judged
        u0_v : nominal voltage line to earth [V]
        final : whether it is a final circuit
        sockets : whether it has socket-outlets, not only fixed equipment
        i_n_a : rated current of the circuit's device [A]

        Returns
        -------
        time [s]

        Raises
        ------
        NotInTable : no row for this system or voltage
        NotStated : the profile does not say how far Table 41.1 reaches

        References
        ----------
        IEC 60364-4-41:2017, 411.3.2.2 to 411.3.2.4.
        """
        reach = self.number(f"disconnection.scope_{'sockets' if sockets else 'fixed'}")
        short = final and i_n_a <= reach
        return limits.disconnection_time_s(
            system, u0_v, circuit="final" if short else "distribution"
        )


def profile_names() -> tuple[str, ...]:
    """Names that `profile` knows."""
    return tuple(_FILES)


@cache
def profile(name: str) -> Profile:
    """Load a profile.

    Parameters
    ----------
    name : "IEC base" or "GB"

    Returns
    -------
    the profile; the same object on every call

    Raises
    ------
    NotInTable : no such profile; the message lists those there are
    """
    if name not in _FILES:
        raise NotInTable(f'there is no profile "{name}"; there is {", ".join(_FILES)}')
    return Profile(name, read(_FILES[name], ProfileRow))
