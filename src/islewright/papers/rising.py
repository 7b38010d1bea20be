"""What lifts the protective conductor against true earth, beside the 50 V line."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from islewright.papers.say import capital, sentence
from islewright.units import show

if TYPE_CHECKING:
    from islewright.network.rise import Rise
    from islewright.rules.study import Study

#: how far a bar runs at most, in lengths of the limit
END = 1.5


def rising(study: Study) -> dict[str, Any]:
    """One row a mishap, in the order of the study; none where nothing can be solved."""
    limit_v = float(study.profile.number("disconnection.touch_voltage"))
    return {
        "limit": show(limit_v, "V"),
        "rows": [_row(rise, limit_v) for rise in study.rises],
    }


def _row(rise: Rise, limit_v: float) -> dict[str, Any]:
    known = math.isfinite(rise.met_v)
    share = rise.met_v / limit_v if known else 0.0
    return {
        "case": capital(rise.case),
        "mode": rise.mode,
        "volts": f"{rise.met_v:.1f}" if known else "not known",
        "known": known,
        "share": min(share, END),
        "cut": share > END,
        "beyond": share > 1,
        "electrode": f"{rise.electrode_a:.2f}" if math.isfinite(rise.electrode_a) else "–",
        "because": sentence(rise.because),
    }
