"""Write docs/job-file.md from the model: every key of a job and of an equipment file.

Run `python docs/make_job_file.py`; a test compares the page with what this would write.
"""

from __future__ import annotations

import typing
from pathlib import Path

from islewright.job.equipment import Battery, Inverter, IslandingSwitch, PvArray
from islewright.job.model import Job
from islewright.job.part import Part
from islewright.job.refusal import words_of

PAGE = Path(__file__).with_name("job-file.md")

HEAD = """# The job file

One YAML file for each job, equipment in files of its own beside it. This page is made from the
program's own model (`python docs/make_job_file.py`); `islewright schema` prints the same as a
JSON Schema, so that an editor can complete and check a file.

- A figure has its unit: `18 m`, `0.32 ohm`, `16 mm2`, `4 kVA`. An uncertainty may stand beside
  it: `0.32 ohm +- 5 %`.
- A fact that is **left out** has not been asked yet. `unknown` means: asked, and nobody knows.
  Both become a question, and whatever hangs on them stays undecided. `none` means: it is not
  there.
- Conductors are words with blanks between them: `L1 L2 L3 N PE`.
- A device is one line, `B16`, `C10 6 kA class 3`, `gG 63 A`, `B16 RCBO 30 mA type A`, or a
  group with the keys below.
- A load may be one line: `lamps: 220 W`.
- `same for all cables` and `same for all circuits` hold for those that do not say otherwise.
- Cables end at `supply`, at a board, at `islanding switch/grid`, `islanding switch/house`,
  `islanding switch/inverter`, at `inverter`, or at `main earthing terminal`.

`!` marks what must be there before anything can be worked out.
"""


def page() -> str:
    """The whole page as text."""
    lines = [HEAD]
    seen: set[type[Part]] = set()
    for title, part in [("Job", Job), ("Equipment: islanding switch", IslandingSwitch),
                        ("Equipment: inverter", Inverter), ("Equipment: battery", Battery),
                        ("Equipment: PV array", PvArray)]:  # fmt: skip
        _tell(title, part, lines, seen)
    return "\n".join(lines) + "\n"


def _tell(title: str, part: type[Part], lines: list[str], seen: set[type[Part]]) -> None:
    if part in seen:
        return
    seen.add(part)
    words = (part.__doc__ or "").strip().partition("\n\n")[0].replace("\n    ", " ")
    lines += [
        f"## {title}",
        "",
        words,
        "",
        "| key | what is asked | how to find out |",
        "|---|---|---|",
    ]
    inner: list[tuple[str, type[Part]]] = []
    for name, info in part.model_fields.items():
        extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
        key = info.alias or name
        mark = " !" if info.is_required() else ""
        ask = str(extra.get("ask") or "")
        allowed = words_of(info.annotation)
        if allowed:
            ask = f"{ask} {' · '.join(f'`{word}`' for word in allowed)}".strip()
        lines.append(f"| `{key}`{mark} | {ask} | {extra.get('how') or ''} |")
        inner += [(f"{title}: {key}", found) for found in _parts(info.annotation)]
    lines.append("")
    for below, found in inner:
        _tell(below, found, lines, seen)


def _parts(annotation: object) -> list[type[Part]]:
    """Parts that a field holds, through dicts, unions and annotations."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return [annotation]
    return [found for arg in typing.get_args(annotation) for found in _parts(arg)]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
