"""Ring final circuits (BS 7671, 433.1.204): two legs of one circuit share its current."""

from __future__ import annotations

from islewright.findings import Question, Status, Verdict
from islewright.job.model import Circuit, Job
from islewright.rules.capacity import capacity, loaded_in
from islewright.rules.study import Study


def leg_carries_all(job: Job, circuit: Circuit) -> bool:
    """Whether one leg alone carries the rated current of the device: then it is no matter of rings.

    Raises
    ------
    Unknown : the device or how the cable is laid is not stated
    """
    i_z = capacity(circuit, loaded_in(job, circuit))[0]
    return float(circuit.device.i_n_a) <= i_z - (i_z.spread or 0.0)


def ring_rated(_study: Study, circuit: Circuit) -> Verdict:
    """A ring whose device is larger than what one leg carries: only a national rule accepts it."""
    return Verdict(
        status=Status.UNDECIDED,
        because=["two legs share the current; the IEC base states no figure for rings"],
        questions=[
            Question(
                field=f"{circuit.path}.ring",
                ask="Which national rule accepts this ring, and on which terms?",
                how="the IEC base knows no ring final circuits",
                whom="the local rules",
            )
        ],
    )
