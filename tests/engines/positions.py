"""The table of states in `docs/network.md`, and mistakes, laid over the elements."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tests.engines.elements import Element

#: state -> what stands open; "public supply" and "inverter" are their EMFs
OPEN = {
    "grid": {"bond", "inverter", "street load", "bypass"},
    "grid, inverter feeding": {"bond", "inverter", "street load", "bypass"},
    "island, on the battery": {"public supply", "switch", "street load", "bypass"},
    "island, with PV": {"public supply", "switch", "street load", "bypass"},
    "island, street loaded": {"public supply", "switch", "bypass"},
    "island, public supply back": {"switch", "street load", "bypass"},
    "bypass": {"switch", "bond", "inverter", "street load"},
    "outage, inverter off": {"public supply", "bond", "inverter", "street load", "bypass"},
    "everything open": {"switch", "bond", "inverter", "street load", "bypass", "main fuse"},
    "dead, bond closed": {"public supply", "switch", "inverter", "street load", "bypass"},
    "dead, bond open": {"public supply", "switch", "inverter", "street load", "bypass", "bond"},
}
#: sources of a current -> the one state in which they run
FEEDS = {
    "fed": "grid, inverter feeding",
    "PV on the grid": "grid, inverter feeding",
    "PV in the island": "island, with PV",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A state by its name, contacts that stand otherwise, and mistakes."""

    state: str
    opened: frozenset[str] = frozenset()
    closed: frozenset[str] = frozenset()
    changes: tuple[object, ...] = ()
    factor: float = 1.0


def elements_in(elements: list[Element], setting: Setting) -> list[Element]:
    """The elements that conduct, mistakes made, sources at `factor` of their EMF."""
    found = list(elements)
    for change in setting.changes:
        found = {"open": _broken, "join": _joined, "swap": _swapped}[change.kind](found, change)
    return [replace(e, volt=e.volt * setting.factor) for e in found if _conducts(e, setting)]


def _conducts(element: Element, setting: Setting) -> bool:
    if element.name in setting.opened:
        return False
    if element.name in setting.closed:
        return True
    if element.role in FEEDS:
        return setting.state == FEEDS[element.role]
    out = OPEN[setting.state]
    fuse = "main fuse" in out and element.name.startswith("main fuse ")
    return element.role not in out and not fuse


def _broken(elements: list[Element], change) -> list[Element]:
    """A core is gone; a circuit's conductor lies loose before its device."""
    if change.name.startswith("circuit "):
        circuit = change.name.removeprefix("circuit ").removesuffix(f" {change.a}")
        contact = _named(elements, f"device {circuit} {change.a}")
        loose = replace(contact, a=f"circuit {circuit}/loose.{change.a}")
        return [loose if e is contact else e for e in elements]
    gone = _named(elements, change.name)
    return [e for e in elements if e is not gone]


def _joined(elements: list[Element], change) -> list[Element]:
    name = change.name or f"join {change.a} {change.b}"
    return [*elements, Element(name, change.a, change.b, ohm=complex(max(change.ohm, 1e-4)))]


def _swapped(elements: list[Element], change) -> list[Element]:
    """Exchanged at a circuit's device, or at the far end of a cable."""
    if change.name.startswith("circuit "):
        circuit = change.name.removeprefix("circuit ")
        p, q = (_named(elements, f"device {circuit} {c}") for c in (change.a, change.b))
        moved = {p.name: replace(p, a=q.a), q.name: replace(q, a=p.a)}
    else:
        p, q = (_named(elements, f"{change.name} {c}") for c in (change.a, change.b))
        moved = {p.name: replace(p, b=q.b), q.name: replace(q, b=p.b)}
    return [moved.get(e.name, e) for e in elements]


def _named(elements: list[Element], name: str) -> Element:
    return next(e for e in elements if e.name == name)
