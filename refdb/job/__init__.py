"""The whole job: one pipe, one liquid and one pair of sensors, from a tape measure to a flow with its uncertainty.

`work_job` works a document through; `work_step` one step of it; `fit` and `compare` stand alone. The physics is in
`waves`, `spacing`, `profile`, `heat` and `uncertainty`, each usable by itself with plain numbers in SI units.
"""

from refdb.job.work import STEPS, compare, fit, work_job, work_step

__all__ = ["STEPS", "compare", "fit", "work_job", "work_step"]
