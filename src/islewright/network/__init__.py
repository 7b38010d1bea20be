"""Network: conductors of a job, its supply states, their solution, faults and limits.

What belongs here: everything that is solved, and what a state looks like. What does not:
whether it is good enough (`rules`), how it is drawn or printed.
"""

from islewright.network.state import Mode, State

__all__ = ["Mode", "State"]
