"""A finding in full, as one would write it by hand, and what no rule speaks of."""

from __future__ import annotations

from islewright.findings import Finding
from islewright.rules.registry import all_rules

NOT_COVERED = (
    "Arc flash, gassing and ventilation of the battery's room, fire strategy, structure, fixings.",
    "Direct-current strings of the PV array and the battery's own protection.",
    "Peak short-circuit withstand of boards and switches.",
    "Where arc-fault devices are asked for; vehicles that feed back into the house.",
    "Whether a surge arrester is required; conductors in one terminal of a board, rings apart.",
    "Clear spaces round the equipment, altitude, sun, vehicles and gas meters beside the battery.",
    "Every fault, voltage and motor start while a generator feeds; its exhaust, fuel and noise.",
    "Double insulation of tails, and of all that lies ahead of the first RCD of a TT house.",
    "Charging of the battery on top of the house's demand; several motors starting at once.",
    "Lightning protection, data links, metering, the operator's consent.",
    "Zones of concealed cables, cables between boards in walls; nails meet what nobody sees.",
)


def by_hand(finding: Finding) -> str:
    """A finding with its formula, arithmetic, remedies, questions and clause."""
    rule = next(r for r in all_rules() if r.id == finding.rule)
    lines = [str(finding), "", f"  {rule.formula}", *(f"  {line}" for line in finding.because)]
    if finding.verdict.means:
        lines += ["", finding.verdict.means]
    lines += [f"Remedy: {text}" for text in finding.remedies]
    lines += [f"Find out: {q.ask} ({q.field}; ask {q.whom})" for q in finding.questions]
    lines += ["", "; ".join(finding.clauses), f"{finding.profile}; state: {finding.state}"]
    if finding.verdict.confirmed:
        lines.append(f"limit confirmed: {finding.verdict.confirmed}")
    return "\n".join(lines)
