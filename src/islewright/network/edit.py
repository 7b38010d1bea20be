"""Wiring mistakes as edits to the elements, before anything is solved."""

from __future__ import annotations

from dataclasses import replace

from islewright.network.parts import EARTH, Branch, Change, Parts


def edited(parts: Parts, changes: tuple[Change, ...]) -> Parts:
    """A copy of the elements with every change made, in order.

    Raises
    ------
    KeyError : a change names a core, cable, circuit or node that is not there
    """
    copy = replace(
        parts,
        nodes=list(parts.nodes),
        index=dict(parts.index),
        cores=[replace(core) for core in parts.cores],
        branches=list(parts.branches),
        stubs=[replace(stub) for stub in parts.stubs],
    )
    for change in changes:
        {"open": _open, "join": _join, "swap": _swap}[change.kind](copy, change)
    return copy


def _open(parts: Parts, change: Change) -> None:
    """Break one conductor; of a circuit at its device, of a cable along its length."""
    for stub in parts.stubs:
        if change.name == f"circuit {stub.circuit} {change.a}".strip():
            _open_stub(parts, stub.circuit, change.name.rpartition(" ")[2])
            return
    before = len(parts.cores)
    parts.cores = [core for core in parts.cores if core.name != change.name]
    if len(parts.cores) == before:
        raise KeyError(change.name)


def _open_stub(parts: Parts, circuit: str, conductor: str) -> None:
    """Let the conductor hang on a node of its own."""
    stub = next(s for s in parts.stubs if s.circuit == circuit)
    loose = parts.node(f"circuit {circuit}/loose", conductor)
    stub.nodes = tuple(
        loose if c == conductor else node
        for c, node in zip(stub.conductors, stub.nodes, strict=True)
    )


def _join(parts: Parts, change: Change) -> None:
    a, b = (EARTH if n == "earth" else parts.index[n] for n in (change.a, change.b))
    z = complex(max(change.ohm, 1e-4))
    parts.branches.append(
        Branch(change.name or f"join {change.a} {change.b}", "", "link", a, b, z, z)
    )


def _swap(parts: Parts, change: Change) -> None:
    """Exchange two conductors at the end of a cable, or at the device of a circuit."""
    for stub in parts.stubs:
        if change.name == f"circuit {stub.circuit}":
            nodes = dict(zip(stub.conductors, stub.nodes, strict=True))
            nodes[change.a], nodes[change.b] = nodes[change.b], nodes[change.a]
            stub.nodes = tuple(nodes[c] for c in stub.conductors)
            return
    by_name = {core.name: core for core in parts.cores}
    p, q = (by_name[f"{change.name} {c}"] for c in (change.a, change.b))
    p.b, q.b = q.b, p.b
