"""Build: a job becomes elements, once; every conductor, pole, bond, electrode and source.

What belongs here: which element stands for which fact of the job, and what is missing or
assumed. What does not: states (which poles are closed), arrays, solving.
"""

from islewright.network.build.house import build

__all__ = ["build"]
