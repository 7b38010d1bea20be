"""The comparison itself: an engine that is a little wrong must be seen to be wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from islewright.network.build import build
from islewright.network.parts import Parts
from islewright.network.solve import Network
from islewright.tables.profile import profile
from tests.engines.faults import compare_faults
from tests.engines.house import House, compare
from tests.engines.opendss import Circuit
from tests.engines.positions import Setting

ISLAND = Setting(state="island, on the battery")
BOUND = 1e-6
MORE = 1.001  # a thousandth too much


def cable(parts: Parts) -> None:
    at = next(i for i, c in enumerate(parts.cores) if c.name == "cable house side N")
    parts.cores[at] = replace(parts.cores[at], z_cold=parts.cores[at].z_cold * MORE)


def bond(parts: Parts) -> None:
    at = next(i for i, b in enumerate(parts.branches) if b.kind == "bond")
    parts.branches[at] = replace(parts.branches[at], z_cold=parts.branches[at].z_cold * MORE)


def filter_capacitance(parts: Parts) -> None:
    parts.capacities[0] = replace(parts.capacities[0], farad=parts.capacities[0].farad * MORE)


def circuit_capacitance(parts: Parts) -> None:
    parts.stubs[-1] = replace(parts.stubs[-1], farad=parts.stubs[-1].farad * MORE)


def circuit_earth(parts: Parts) -> None:
    stub = parts.stubs[-1]
    z = tuple(
        z * (MORE if c == "PE" else 1) for c, z in zip(stub.conductors, stub.z_cold, strict=True)
    )
    parts.stubs[-1] = replace(stub, z_cold=z)


SLIPS: tuple[Callable[[Parts], None], ...] = (
    cable, bond, filter_capacitance, circuit_capacitance, circuit_earth,
)  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_a_thousandth_too_much_is_seen(slip):
    """One element of the engine 0.1 % off: a voltage or a current leaves the bounds."""
    house = House.example("cottage")
    parts = build(house.job, profile("IEC base"))
    slip(parts)
    house.network = Network(parts)
    healthy = compare(house, ISLAND, "cold")
    faults = compare_faults(house, ISLAND, "cold")
    assert max(healthy.volts, healthy.amps, faults.volts, faults.amps) > BOUND


def test_opendss_without_a_finite_answer_fails():
    """A node that nothing holds gives no number there; that ends the test, not passes it."""
    house = House.example("cottage")
    elements = house.elements_in(ISLAND, "cold")
    at = next(i for i, e in enumerate(elements) if e.name == "electrode")
    elements[at] = replace(elements[at], ohm=complex("nan"))
    with pytest.raises(ArithmeticError, match="no finite answer"):
        Circuit(elements, house.hertz).volts()
