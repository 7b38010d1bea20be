"""The public supply of a job, from the transformer to the origin, off `docs/network.md`."""

from __future__ import annotations

from islewright.job.kinds import AS_LINE
from tests.engines.elements import EARTH, Element, assumed, core_ohm


def incomer(job, *, hot: bool):
    """Elements of the public supply; hot is the weakest, cold the strongest."""
    from tests.engines.netlist import phasor

    z_l, z_n, z_pe, r_b = _impedances(job, hot=hot)
    turn = 1 if hot else 1j
    system = job.supply.system_earthing
    near = assumed("network.street_share")
    star = "transformer.N"
    if system != "IT":
        yield Element("transformer electrode", star, EARTH, ohm=complex(r_b))
    for c in job.phases:
        yield Element(
            f"public supply {c}", star, f"street.{c}", "emf",
            ohm=turn * z_l * near, volt=phasor(job, c), role="public supply",
        )  # fmt: skip
        yield Element(f"service {c}", f"street.{c}", f"service.{c}", ohm=turn * z_l * (1 - near))
        yield Element(
            f"main fuse {c}", f"service.{c}", f"supply.{c}",
            ohm=complex(assumed("network.contact")), role="contact",
        )  # fmt: skip
        yield Element(
            f"street load {c}", f"street.{c}", "street.N",
            ohm=complex(assumed("network.street_load")), role="street load",
        )  # fmt: skip
    for c, z in (("N", z_n), ("PE", z_pe)):
        if c == "N" or system == "TN-S":
            yield Element(f"street {c}", star, f"street.{c}", ohm=turn * z * near)
            yield Element(f"service {c}", f"street.{c}", f"supply.{c}", ohm=turn * z * (1 - near))
    if system == "TN-C-S":
        stated = job.supply.has("street") and job.supply.street.has("pen_electrodes_ohm")
        ohm = job.supply.street.pen_electrodes_ohm if stated else assumed("network.pen_electrodes")
        yield Element("PEN electrodes", "street.N", EARTH, ohm=complex(ohm))


def _loops(job, field: str) -> list[float]:
    """Measured and declared figures of one loop, tails taken off."""
    found = []
    for word in ("measured", "declared"):
        loops = getattr(job.supply, word) if job.supply.has(word) else None
        if loops is not None and loops.has(field):
            found.append(float(getattr(loops, field)) - _tails(job, loops.at, field))
    return found


def _tails(job, at: str, field: str) -> float:
    ohm = 0.0
    while at != "supply":
        cable = next((c for c in job.cables.values() if c.to == at), None)
        if cable is None:
            break
        there = core_ohm(cable.material, cable.size_mm2, cable.length_m, hot=False).real
        back = there
        if (
            field == "line_earth_ohm"
            and "PE" in cable.cores
            and cable.earth_mm2 not in (None, AS_LINE)
        ):
            back = core_ohm(cable.material, cable.earth_mm2, cable.length_m, hot=False).real
        ohm, at = ohm + there + back, cable.from_
    return ohm


def _impedances(job, *, hot: bool) -> tuple[float, float, float, float]:
    """Magnitudes of Z_L, Z_N, Z_PE and R_B [Ω]."""
    pick = max if hot else min
    u0 = float(job.supply.nominal_voltage_v)
    ln = pick(_loops(job, "line_neutral_ohm"))
    ll = _loops(job, "line_line_ohm")
    z_l = min(pick(ll) / 2, 0.95 * ln) if ll else ln * assumed("network.line_share")
    z_n = ln - z_l
    lpe = _loops(job, "line_earth_ohm")
    stated = job.supply.has("street") and job.supply.street.has("transformer_electrode_ohm")
    r_b = assumed("network.transformer_electrode")
    if stated:
        r_b = float(job.supply.street.transformer_electrode_ohm)
    z_pe = pick(lpe) - z_l if job.supply.system_earthing == "TN-S" else 0.0
    if job.supply.system_earthing == "TT" and lpe:
        rest = pick(lpe) - z_l - _house_earth(job)
        r_b = rest if rest > 0 else r_b
    # the earth's part comes from the loops as they stand, before the line is made stronger
    largest = _largest(job)
    if not hot and largest:
        path = z_l if len(job.phases) > 1 else z_l + z_n
        shrink = min(1.0, u0 / largest / path)
        z_l, z_n = z_l * shrink, z_n * shrink
    return z_l, z_n, z_pe, r_b


def _largest(job) -> float | None:
    stated = [
        getattr(job.supply, word) for word in ("declared", "measured") if job.supply.has(word)
    ]
    amps = [float(x.largest_fault_current_a) for x in stated if x.has("largest_fault_current_a")]
    return max(amps, default=None)


def _house_earth(job) -> float:
    siemens = 0.0
    if job.earthing.electrode is not None:
        siemens += 1 / float(job.earthing.electrode.resistance_ohm)
    if job.earthing.has("parallel_earths"):
        siemens += sum(1 / float(ohm) for ohm in (job.earthing.parallel_earths or {}).values())
    return 1 / siemens
