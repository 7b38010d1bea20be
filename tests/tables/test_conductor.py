"""Resistance, adiabatic factor and size of conductors."""

import numpy as np
import pytest

from islewright.tables import NotInTable, conductor


def test_resistance_rises_with_temperature_and_length():
    """The hot core of the example: 6 mm² copper, 25 m, 70 °C."""
    hot = conductor.resistance_ohm_per_km("copper", 6, theta_c=70)
    cold = conductor.resistance_ohm_per_km("Cu", 6, theta_c=20)

    assert cold == 3.08
    assert hot / cold == pytest.approx(1 + 0.00393 * 50)
    assert hot.confirmed == "two pages"
    assert "IEC 60228" in hot.source


def test_resistance_works_for_many_lengths_at_once():
    """Plain arithmetic with an array gives an array."""
    found = conductor.resistance_ohm_per_km("Al", 25, theta_c=20) * np.array([0.0, 0.5, 1.0])

    assert found.tolist() == [0.0, 0.6, 1.2]


def test_a_temperature_factor_takes_an_array():
    """Every element as the scalar."""
    theta = np.array([20.0, 70.0])

    assert conductor.temperature_factor("Cu", theta).tolist() == [
        conductor.temperature_factor("Cu", 20.0),
        conductor.temperature_factor("Cu", 70.0),
    ]


@pytest.mark.parametrize("material", ["Cu", "Al"])
@pytest.mark.parametrize("conductor_class", [1, 2, 5])
def test_resistance_falls_with_the_size(material, conductor_class):
    """More metal never resists more; the product with the size stays within 20 %."""
    if material == "Al" and conductor_class != 2:
        with pytest.raises(NotInTable, match="Al class 2"):
            conductor.sizes(material, conductor_class=conductor_class)
        return
    sizes = conductor.sizes(material, conductor_class=conductor_class)
    ohms = [
        conductor.resistance_ohm_per_km(material, size, theta_c=20, conductor_class=conductor_class)
        for size in sizes
    ]
    products = [size * ohm for size, ohm in zip(sizes, ohms, strict=True)]

    assert ohms == sorted(ohms, reverse=True)
    assert max(products) / min(products) < 1.2


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: conductor.resistance_ohm_per_km("Cu", 5, theta_c=20), r"4 mm² and 6 mm²"),
        (lambda: conductor.resistance_ohm_per_km("Ag", 6, theta_c=20), r"Cu class 2"),
        (lambda: conductor.reactance_ohm_per_km(3), r"2.5 mm² and 4 mm²"),
        (lambda: conductor.temperature_factor("Ag", 20), r"Al, Cu, Fe"),
        (lambda: conductor.limit_temperature_c("paper"), r"PVC, XLPE"),
        (lambda: conductor.k_factor("Cu", "paper"), r"listed are .*Cu PVC"),
        (lambda: conductor.k_factor("Cu", "PVC", use="hung"), r"other uses"),
        (lambda: conductor.protective_minimum_mm2("PEN conductor", "hung"), r"fixed"),
        (lambda: conductor.protective_size_mm2(0), r"no row"),
        (lambda: conductor.protective_size_mm2(1000), r"300 mm²"),
    ],
)
def test_what_is_not_listed_names_what_is(call, message):
    """A wrong size is answered with its neighbours."""
    with pytest.raises(NotInTable, match=message):
        call()


@pytest.mark.parametrize(
    ("line_mm2", "protective_mm2"),
    [(1.5, 1.5), (16, 16), (25, 16), (35, 16), (50, 25), (70, 35), (95, 50), (120, 70)],
)
def test_the_protective_conductor_follows_the_line(line_mm2, protective_mm2):
    """As large up to 16, then 16, above 35 half and the next size up."""
    assert conductor.protective_size_mm2(line_mm2) == protective_mm2


def test_a_table_size_of_protective_conductor_never_shrinks():
    """A larger line conductor never asks for a smaller protective one."""
    found = [conductor.protective_size_mm2(size) for size in conductor.sizes("Cu")]

    assert found == sorted(found)


def test_the_limits_of_insulation_are_those_of_the_trade():
    """PVC 70 °C and 160 °C, XLPE and EPR 90 °C and 250 °C."""
    assert conductor.limit_temperature_c("PVC") == 70
    assert conductor.fault_temperature_c("PVC") == 160
    assert conductor.limit_temperature_c("EPR") == conductor.limit_temperature_c("XLPE") == 90
    assert conductor.fault_temperature_c("XLPE") == 250


def test_thick_pvc_has_a_lower_factor():
    """Above 300 mm² the PVC of a copper core may reach 140 °C only."""
    assert conductor.k_factor("Cu", "PVC", size_mm2=300) == 115
    assert conductor.k_factor("Cu", "PVC", size_mm2=400) == 103


def test_every_listed_factor_follows_from_its_temperatures():
    """A slip in one cell of the k table shows: one in a hundred is the rounding of print."""
    for row in conductor.read("conductor_k", conductor._K):
        ours = conductor.k_from_temperatures(
            row.material, initial_c=row.initial_c, final_c=row.final_c
        )
        assert ours == pytest.approx(row.k, rel=0.025)


def test_reactance_says_how_far_it_may_lie_off():
    """One figure for all cables, with the nearer end of the handbook range as spread."""
    x = conductor.reactance_ohm_per_km(2.5)

    assert x == 0.08
    assert x.spread == pytest.approx(0.01)
    assert x.confirmed == "memory"


def test_a_minimum_size_is_looked_up_by_its_condition():
    """Separate protective conductors: 2.5 mm² where protected, 4 mm² where not."""
    item = "separate protective conductor"

    assert conductor.protective_minimum_mm2(item, "mechanically protected") == 2.5
    assert conductor.protective_minimum_mm2(item, "not mechanically protected") == 4
