"""Published figures and profiles as data files, and the functions that look them up.

Belongs here: a figure of a standard with its source, how far it is confirmed, and the
formula that the standard gives beside it. Does not belong here: anything that knows a job
or a network, and any judgement.

`confirmed` is "two pages" where two reprints of the standard were seen, "page" where one
was, "memory" where none was found. Most pages are somebody's reprint, not the standard.
"""

from islewright.tables import cable, conductor, device, limits
from islewright.tables.figure import Figure
from islewright.tables.profile import NotApplicable, NotStated, Profile, profile, profile_names
from islewright.tables.rows import NotInTable

__all__ = [
    "Figure",
    "NotApplicable",
    "NotInTable",
    "NotStated",
    "Profile",
    "cable",
    "conductor",
    "device",
    "limits",
    "profile",
    "profile_names",
]
