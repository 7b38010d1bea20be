"""pandapower's time per fault; run by the Python of an environment that has it.

`python benchmarks/pandapower_peer.py < loops.json`: a list of [ohm, ohm] of loop impedances.

It knows three equal phases and no neutral or protective conductor, so that the house cannot be
said to it. In its place stands a network of as many ends: each a line of the loop's impedance
from one stiff source, all faults in one call. The currents come out as U_0 / Z, times its c.
"""

from __future__ import annotations

import json
import math
import statistics
import sys
import time
from typing import Any

U0_KV = 0.23
#: without the whole inverse it takes a fifth of the time
HOW = {"fault": "3ph", "case": "max", "ip": False, "ith": False, "inverse_y": False}
C_MAX = 1.1  # what it takes for low voltage at a tolerance of 10 %, its default


def network(loops: list[list[float]]) -> Any:
    """One stiff source, and a line to each fault's place."""
    import pandapower as pp

    net = pp.create_empty_network(f_hz=50.0)
    kv = U0_KV * math.sqrt(3)
    first = pp.create_bus(net, vn_kv=kv)
    pp.create_ext_grid(net, first, s_sc_max_mva=1e7, rx_max=0.1)
    ends = pp.create_buses(net, len(loops), vn_kv=kv)
    for end, (r, x) in zip(ends, loops, strict=True):
        pp.create_line_from_parameters(
            net, first, end, length_km=1.0, r_ohm_per_km=r, x_ohm_per_km=x, c_nf_per_km=0.0,
            max_i_ka=1.0,
        )  # fmt: skip
    return net


def main() -> None:
    """Print microseconds per fault: on the network that is there, and with making it."""
    import pandapower
    from pandapower.shortcircuit import calc_sc

    loops = json.load(sys.stdin)
    net = network(loops)
    solving, whole = [], []
    for _ in range(6):
        start = time.perf_counter()
        calc_sc(net, **HOW)
        solving.append(time.perf_counter() - start)
    for _ in range(3):
        start = time.perf_counter()
        calc_sc(network(loops), **HOW)
        whole.append(time.perf_counter() - start)
    for (r, x), ka in zip(loops, net.res_bus_sc.ikss_ka.to_numpy()[1:], strict=True):
        if not math.isclose(ka, C_MAX * U0_KV / abs(complex(r, x)), rel_tol=1e-2):
            raise ValueError(f"{r}, {x}: {ka} kA")
    each = 1e6 / len(loops)
    print(json.dumps({
        "version": pandapower.__version__,
        "factorised": round(statistics.median(solving[1:]) * each, 1),
        "all_in": round(statistics.median(whole) * each, 1),
    }))  # fmt: skip


if __name__ == "__main__":
    main()
