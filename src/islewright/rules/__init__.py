"""Rules: one short function each, a file per chapter; the runner; the study of a job.

What belongs here: what a clause demands, judged on the network and the job. What does
not: solving (`network`), published figures (`tables`), drawings and papers.
"""

from islewright.rules.study import Study, study

__all__ = ["Study", "study"]
