"""Write docs/rules.md from the registry: what each rule demands, and one finding of each.

Run `python docs/make_rules.py`; a test compares the page with what this would write.
"""

from __future__ import annotations

from pathlib import Path

from islewright import read_job, study
from islewright.findings import Finding, Status
from islewright.rules.registry import Rule, all_rules
from islewright.rules.study import Study

HERE = Path(__file__).parent
PAGE = HERE / "rules.md"
EXAMPLES = HERE.parent / "examples"
#: the example with most to say comes first
HOUSES = ("farmhouse", "terrace", "cottage", "workshop", "bungalow", "flat", "cabin")
#: which finding tells most about its rule
TELLING = (Status.NOT_MET, Status.NEAR, Status.MET, Status.UNDECIDED)

HEAD = """# The rules

Every rule that `islewright check` runs: what it demands, by which formula and clause, where
and in which mode it looks, and one finding from the examples as `islewright explain` prints
it. This page is made from the rules themselves (`python docs/make_rules.py`).

A finding is *met*, *near* (met by less than what the figures may be off), *not met* or
*undecided*. A figure that is not stated makes a finding undecided and becomes a question;
nothing that is not known passes. "From memory" beside a clause means that nobody has held
it against the printed text for this program yet: check it.
"""


def page() -> str:
    """The whole page as text."""
    studies = {name: study(read_job(EXAMPLES / name / f"{name}.yaml")) for name in HOUSES}
    lines = [HEAD]
    chapter = ""
    for rule in all_rules():
        if rule.chapter != chapter:
            chapter = rule.chapter
            lines += [f"## {chapter[0].upper()}{chapter[1:]}", ""]
        lines += _section(rule, studies)
    return "\n".join(lines).rstrip() + "\n"


def _section(rule: Rule, studies: dict[str, Study]) -> list[str]:
    modes = " and ".join(mode.value for mode in rule.modes)
    where = {"house": "the whole house"}.get(rule.over, f"all {rule.over}")
    where += "," if "," in where else ""
    return [
        f"### {rule.id}",
        "",
        f"{rule.title}.",
        "",
        f"    {rule.formula}",
        "",
        *([rule.words, ""] if rule.words else []),
        f"- Looks at {where} in {modes}.",
        *(f"- {clause}" for clause in rule.clauses),
        "",
        *_example(rule, studies),
    ]


def _example(rule: Rule, studies: dict[str, Study]) -> list[str]:
    """The most telling finding of the rule in any example, or a word that there is none."""
    for status in TELLING:
        for name, of in studies.items():
            found = next((f for f in of.findings if _is(f, rule, status)), None)
            if found is not None:
                return [f"In the example {name}:", "", "```text", of.explain(found), "```", ""]
    return ["None of the examples has a place for it.", ""]


def _is(finding: Finding, rule: Rule, status: Status) -> bool:
    return finding.rule == rule.id and finding.status is status


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
