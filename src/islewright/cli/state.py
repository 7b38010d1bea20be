"""`islewright state`: the supply states, one of them with its voltages, or a fault in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from islewright.cli.job import (
    circuit_or_cable,
    job_argument,
    json_option,
    refuse,
    studied,
)

if TYPE_CHECKING:
    from islewright.network.state import State
    from islewright.rules.study import Study

KIND = "Conductors that touch, such as L1-PE, L1-N, L1-L2, L1-L2-L3."


@click.command()
@job_argument
@click.argument("state", required=False)
@click.option("--place", help="All voltages at one board, terminal, circuit or cable's end.")
@click.option("--fault", help="A fault on this circuit or cable instead.")
@click.option("--kind", help=f"{KIND} Without it, the fault to earth of the first line.")
@click.option("--end", type=click.Choice(["far", "near"]), default="far", help="Which end of it.")
@json_option
def state(
    job: str,
    state: str | None,
    *,
    place: str | None,
    fault: str | None,
    kind: str | None,
    end: str,
    as_json: bool,
) -> None:
    """Show the house in one supply STATE, or list the states.

    Without STATE: all states, what each isolator leaves alive, what can lift the earthing
    terminal. STATE is a name or number of that list; `grid` and `island` are the states
    that govern the two modes. With it: positions, what is alive, voltages, currents with
    the loads on; or one fault, with --fault.
    """
    from islewright.cli import fault_view, state_list, state_view

    if state is None and (place or fault):
        raise refuse("--place and --fault need a STATE, such as `island`")
    of = studied(job, as_json=as_json)
    if state is None:
        state_list.show(of, as_json=as_json)
        return
    chosen = state_named(of, state)
    if fault is not None:
        where = circuit_or_cable(of, fault)
        fault_view.show(of, chosen, where, kind, end, as_json=as_json)
    else:
        state_view.show(of, chosen, place, as_json=as_json)


def state_named(of: Study, word: str) -> State:
    """The state that a name, a number of the list or the beginning of a name means.

    Raises
    ------
    Refused : no state, or more than one
    """
    from islewright.network.state import GRID, ISLAND
    from islewright.network.tell import states_of

    states = states_of(of.job)
    word = " ".join(word.split()).casefold()
    if word in ("grid", "island"):
        return GRID if word == "grid" else ISLAND
    if word.isdecimal() and 1 <= int(word) <= len(states):
        return states[int(word) - 1]
    same = [s for s in states if s.name.casefold() == word]
    found = same or [s for s in states if word and word in s.name.casefold()]
    if len(found) == 1:
        return found[0]
    listed = "; ".join(f"{i} {s.name}" for i, s in enumerate(states, 1))
    raise refuse(f'{"more than one" if found else "no"} state "{word}"; there are: {listed}')
