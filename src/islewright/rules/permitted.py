"""A limit that the operator sets for this house, or else the rule set for all."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from islewright.job.gap import Gap, Unknown
from islewright.tables.profile import NotStated

if TYPE_CHECKING:
    from islewright.rules.study import Study


class Permitted(NamedTuple):
    """A limit in the unit of its field, whose it is, and how far that is confirmed."""

    limit: float
    by: str
    confirmed: str


def permitted(study: Study, key: str, field: str) -> Permitted | None:
    """Limit of the operator (`supply.operator's limits`), else of the profile.

    Parameters
    ----------
    key, field : the same limit in the profile and among the operator's

    Returns
    -------
    None where the operator sets none and the profile has no figure: nothing is demanded

    Raises
    ------
    Unknown : neither states one; the operator is to be asked
    NotApplicable : the rule set has no such limit, and the operator sets none
    """
    supply = study.job.supply
    asked = supply.limits if supply.gap("limits") is None else None
    if asked is not None and asked.has(field):
        return Permitted(float(getattr(asked, field)), "the operator allows", "as stated")
    sets_none = asked is not None and asked.gap(field) is None
    try:
        stated = study.profile.number(key)
    except NotStated:
        if sets_none or not study.profile.applies(key):
            return None
        part, name = (supply, "limits") if asked is None else (asked, field)
        raise Unknown(part.question(name)) from None
    if asked is not None and asked.gap(field) is Gap.UNKNOWN:
        raise Unknown(asked.question(field))  # it may be stricter than the profile's
    return Permitted(float(stated), f"{study.profile.name} allows", stated.confirmed)
