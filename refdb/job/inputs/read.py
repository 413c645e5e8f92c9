"""A job's document read into numbers: given, from a row of the database, or a stated default."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from refdb.database import Database
from refdb.job.contradictions import check_document, check_flow, check_temperatures
from refdb.values.options import Options

if TYPE_CHECKING:
    from refdb.job.models import Job

from refdb.job.inputs.flow import flows
from refdb.job.inputs.held import Inputs, nominal_bore
from refdb.job.inputs.liquid import read_liquid, read_temperatures
from refdb.job.inputs.pipe import read_pipe
from refdb.job.inputs.sensors import read_sensors


def read_inputs(job: Job, database: Database, notes: Sequence[str] = ()) -> Inputs:
    """The numbers of a job.

    Args:
        notes: what reading the document took for granted.

    Raises:
        Problem: an input is wrong, contradicts another, or is neither given nor in the release.
    """
    check_document(job)
    release = database.release(job.release)
    options = Options(estimates=job.accept == "estimates", house=job.layers != "release")
    inputs = Inputs(job, database, release, options, assumptions=list(notes))
    read_temperatures(inputs)
    check_temperatures(inputs)
    read_liquid(inputs)
    read_pipe(inputs)
    read_sensors(inputs)
    if job.flow is not None:
        inputs.warnings += check_flow(flows(inputs), nominal_bore(inputs), inputs.value("roughness"))
    return inputs
