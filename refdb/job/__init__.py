"""The whole job: one pipe, one liquid and one pair of sensors, from a tape measure to a flow with its uncertainty.

`work_job` works a document through; `work_step` one step of it; `fit` and `compare` stand alone; `against` tells what
another release would change; `sheet` makes a worked job, or a blank form, into a page to print. The physics is in
`waves`, `spacing`, `profile`, `heat` and `uncertainty`, each usable by itself with plain numbers in SI units.
"""

from refdb.job.against import against
from refdb.job.work import STEPS, compare, fit, work_job, work_step

__all__ = ["STEPS", "against", "compare", "fit", "work_job", "work_step"]
