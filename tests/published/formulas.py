"""What the product computes for each row of printed values: one short call per formula.

A row names one of these and its inputs. None of them may read the printed figure itself
back from a table: every one reaches it from other inputs.
"""

import math

from islewright.rules.inflow import Inflow, together
from islewright.tables import cable, conductor, device, limits
from islewright.tables import profile as country

PER_KM = 1 / 1000


def loop_limit(*, u0_v, factor, within_s, i_n_a, curve="", standard=""):
    """Z_s ≤ factor · U_0 / I_a, with I_a of a breaker or, without a curve, of a gG fuse."""
    if curve:
        i_a = device.mcb_opening_current_a(curve, i_n_a, within_s)
    else:
        i_a = device.fuse_gg_opening_current_a(i_n_a, within_s, standard=standard)
    return factor * u0_v / i_a


def adiabatic_k(*, material, initial_c, final_c):
    """Factor k from the temperatures between which the conductor heats up."""
    return conductor.k_from_temperatures(material, initial_c=initial_c, final_c=final_c)


def adiabatic_size(*, i_a, time_s, k):
    """S = √(I²t) / k."""
    return conductor.adiabatic_size_mm2(i_a, time_s, k)


def protective_size(*, line_mm2):
    """Protective conductor of copper beside a line of copper, by the line's size."""
    return conductor.protective_size_mm2(line_mm2)


def ambient_law(*, insulation, ambient_c, reference_c):
    """√((θ_limit - θ_a) / (θ_limit - θ_ref)), from the insulation's limit alone."""
    return cable.ambient_law(insulation, ambient_c, reference_c=reference_c)


def electrode_limit(*, i_dn_a):
    """R_A ≤ U_L / I_Δn."""
    return limits.touch_voltage_v() / i_dn_a


def largest_rcd_ma(*, electrode_ohm):
    """I_Δn ≤ U_L / R_A, in mA."""
    return 1000 * limits.touch_voltage_v() / electrode_ohm


def body_current_ma(*, touch_v):
    """Touch voltage over the conventional impedance, in mA."""
    return 1000 * touch_v / limits.body_impedance_ohm(touch_v)


def derated_current(*, method, insulation, loaded, size_mm2, ambient_c):
    """Capacity of copper at another ambient temperature."""
    base = cable.ampacity_a(method, insulation, "Cu", int(loaded), size_mm2)
    return base * cable.ambient_factor(insulation, ambient_c)


def required_capacity(*, i_n_a, insulation, ambient_c):
    """I_n over the ambient factor: what the table must list at least."""
    return i_n_a / cable.ambient_factor(insulation, ambient_c)


def smallest_size(*, method, insulation, loaded, i_n_a, ambient_c):
    """First size of copper that the table lists with at least the required capacity."""
    column = (method, insulation, "Cu", int(loaded))
    wanted = required_capacity(i_n_a=i_n_a, insulation=insulation, ambient_c=ambient_c)
    return next(
        size for size in cable.ampacity_sizes(*column) if cable.ampacity_a(*column, size) >= wanted
    )


def next_rating(*, power_w, voltage_v):
    """First listed rating of a breaker at or above the design current."""
    return next(rating for rating in device.ratings_a() if rating >= power_w / voltage_v)


def drop_mv_per_a_m(*, size_mm2, phases, theta_c):
    """Drop of a copper cable per ampere and metre, reactance left out."""
    way = 2 if phases == 1 else math.sqrt(3)
    return way * conductor.resistance_ohm_per_km("Cu", size_mm2, theta_c=theta_c)


def drop_v(*, power_w, voltage_v, length_m, size_mm2, theta_c):
    """Drop of a single-phase copper cable under a load, reactance left out."""
    each = drop_mv_per_a_m(size_mm2=size_mm2, phases=1, theta_c=theta_c)
    return power_w / voltage_v * length_m * each / 1000


def drop_three_v(*, current_a, length_m, size_mm2, theta_c):
    """Drop of a three-phase copper cable between its lines, reactance left out."""
    return (
        current_a * length_m * drop_mv_per_a_m(size_mm2=size_mm2, phases=3, theta_c=theta_c) / 1000
    )


def drop_percent(*, power_w, voltage_v, length_m, size_mm2, theta_c):
    """The same of a single-phase cable, of the nominal voltage."""
    volts = drop_v(power_w=power_w, voltage_v=voltage_v, length_m=length_m, size_mm2=size_mm2,
                   theta_c=theta_c)  # fmt: skip
    return 100 * volts / voltage_v


def core_ohm_per_km(*, size_mm2, theta_c):
    """Resistance of a copper core at its temperature."""
    return conductor.resistance_ohm_per_km("Cu", size_mm2, theta_c=theta_c)


def loop_cold(*, external_ohm, line_mm2, earth_mm2, length_m):
    """Z_s = Z_e + R_1 + R_2 of a copper cable at 20 °C."""
    cores = (
        conductor.resistance_ohm_per_km("Cu", size, theta_c=20) for size in (line_mm2, earth_mm2)
    )
    return external_ohm + sum(cores) * length_m * PER_KM


def r1_r2(*, line_mm2, earth_mm2):
    """Line and protective core of copper in series at 20 °C, in mΩ/m."""
    return loop_cold(external_ohm=0, line_mm2=line_mm2, earth_mm2=earth_mm2, length_m=1000)


def rounded_rise(*, material, theta_c):
    """Resistance at a temperature over that at 20 °C."""
    return conductor.temperature_factor(material, theta_c)


def cold_reading_limit(*, profile, curve, i_n_a, within_s, u0_v):
    """What a cold reading may be: the profile's share of c_min · U_0 / I_a."""
    rules = country(profile)
    factor = rules.number("loop.c_min") * rules.number("loop.measured_factor")
    return loop_limit(u0_v=u0_v, factor=factor, within_s=within_s, i_n_a=i_n_a, curve=curve)


def electrode_limit_special(*, i_dn_a):
    """R_A ≤ U_L / I_Δn where the stricter touch voltage holds."""
    return country("IEC base").number("disconnection.touch_voltage_special") / i_dn_a


def rb_over_re(*, u0_v):
    """R_B / R_E ≤ U_L / (U_0 - U_L)."""
    u_l = country("IEC base").number("disconnection.touch_voltage")
    return u_l / (u0_v - u_l)


def factor_to_20_c(*, material, theta_c):
    """Reading at another temperature times this is the resistance at 20 °C."""
    return 1 / conductor.temperature_factor(material, theta_c)


def sum_of_sources(*, i_n_a, i_g_a):
    """I_n + I_g: what the device upstream and a source of the house can drive into a board."""
    grid = Inflow(i_n_a, (), frozenset(["supply"]))
    return together([Inflow(i_g_a, (), frozenset(["inverter"]), i_g_a), grid]).amps


FORMULAS = {
    formula.__name__: formula
    for formula in (
        adiabatic_k,
        adiabatic_size,
        ambient_law,
        body_current_ma,
        cold_reading_limit,
        core_ohm_per_km,
        derated_current,
        drop_mv_per_a_m,
        drop_percent,
        drop_three_v,
        drop_v,
        electrode_limit,
        electrode_limit_special,
        factor_to_20_c,
        largest_rcd_ma,
        loop_cold,
        loop_limit,
        next_rating,
        protective_size,
        r1_r2,
        rb_over_re,
        required_capacity,
        rounded_rise,
        smallest_size,
        sum_of_sources,
    )
}
