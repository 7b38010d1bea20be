"""Chapter: what needs three lines a third of a turn apart, in an island that has none."""

from __future__ import annotations

from islewright.findings import Status, Verdict
from islewright.network.alive import live_lines
from islewright.network.state import Mode
from islewright.rules.registry import Here, rule
from islewright.rules.study import Study

BRIDGED = "single-phase on bridged lines"
THREE = 3


@rule(
    "rotation.three-line-load",
    over="circuits",
    modes=[Mode.ISLAND],
    title="A load on three lines must find them turned against each other in the island",
    clauses=["IEC 60364-5-55, 551.2.1 (from memory)", "BS 7671:2018, 551.2.1 (from memory)"],
)
def three_line_load(study: Study, here: Here) -> Verdict | None:
    """Loads on L1 L2 L3 → three live lines, a third of a turn apart

    A single-phase inverter leaves lines dead or, on bridged lines, in phase: a motor stalls and
    burns, and between lines there is no voltage. Loads that each work between one line and the
    neutral may stay: those on a dead line rest. Their neutral is judged elsewhere.
    """
    job = study.job
    circuit = job.circuits[here.name]
    if len(job.lines_of(circuit)) < THREE:
        return None
    live, output = live_lines(job, circuit.board), job.inverter.output
    in_phase = output == BRIDGED
    turned = len(live) == THREE and not in_phase
    each = circuit.on_three_lines == "each by itself" and "N" in circuit.cores
    met = turned or each
    return Verdict(
        status=Status.MET if met else Status.NOT_MET,
        because=[
            f"alive at {circuit.board}: {' '.join(live) or 'none'}, {output}",
            *([f"loads of {here.name}: {circuit.on_three_lines}"] if not turned else []),
        ],
        means="" if met else "A motor on it does not turn, and burns; converters stop or fail.",
        remedies=[lambda: f"Move {here.name} to a board that the island does not feed."],
        confirmed="memory",
    )
