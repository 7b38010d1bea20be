"""The other peers' time per fault, where they are on this machine: ngspice and pandapower."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path
from typing import Any

import spice_peer
from peer import Peer

from tests.engines import spice
from tests.engines.faults import faults_of
from tests.engines.house import House
from tests.engines.positions import Setting

#: the Python of an environment that has pandapower
PANDAPOWER = "PANDAPOWER_PYTHON"


def times() -> dict[str, dict[str, Any]]:
    """Of each that is there: version, and microseconds per fault of the grid state, hot."""
    house, found = House.example("farmhouse"), {}
    elements = house.elements_in(Setting(state="grid"), "hot")
    faults = faults_of(elements, house.job)
    amps = Peer(elements, house.hertz, faults).answer(volts=False)[0]
    if spice.present():
        told = spice_peer.times(house, faults, amps, runs=2)
        found["ngspice"] = {"version": spice.version().removeprefix("ngspice-"), **told}
    if PANDAPOWER in os.environ:
        loops = [[house.u0 / a, 0.01] for a in amps]
        script = str(Path(__file__).with_name("pandapower_peer.py"))
        done = subprocess.run(
            [os.environ[PANDAPOWER], script], input=json.dumps(loops), capture_output=True,
            text=True, check=True,
        )  # fmt: skip
        found["pandapower"] = json.loads(done.stdout)
    return found
