"""Formulas of overload and short circuit, through the very functions that the rules ask."""

from islewright.rules.withstand import stands_of
from islewright.tables import cable


def harmonic_neutral_a(*, i_b_a, share_percent):
    """3 · h_3 · I_b."""
    return 3 * share_percent / 100 * i_b_a


def harmonic_needed_a(*, i_b_a, share_percent):
    """What the table must list: the governing current over its factor."""
    factor, governs = cable.harmonic_factor(share_percent)
    amps = harmonic_neutral_a(i_b_a=i_b_a, share_percent=share_percent)
    return (amps if governs == "neutral" else i_b_a) / factor


def harmonic_size_mm2(*, i_b_a, share_percent, method, insulation):
    """First size of copper, three loaded, that carries it."""
    column = (method, insulation, "Cu", 3)
    needed = harmonic_needed_a(i_b_a=i_b_a, share_percent=share_percent)
    return next(s for s in cable.ampacity_sizes(*column) if cable.ampacity_a(*column, s) >= needed)


def thermal_stress_ma2s(*, material, insulation, size_mm2):
    """k² · S² of a core, in 10⁶ A²s."""
    return stands_of(material, insulation, size_mm2).a2s / 1e6


FORMULAS = {
    formula.__name__: formula
    for formula in (harmonic_needed_a, harmonic_neutral_a, harmonic_size_mm2, thermal_stress_ma2s)
}
