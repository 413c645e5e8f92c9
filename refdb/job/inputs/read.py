"""A job's document read into numbers: given, from a row of the database, or a stated default."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.database import Database
from refdb.job.contradictions import check_document, check_temperatures
from refdb.values.options import Options

if TYPE_CHECKING:
    from refdb.job.models import Job

from refdb.job.inputs.held import Inputs
from refdb.job.inputs.liquid import read_liquid, read_temperatures
from refdb.job.inputs.pipe import read_pipe
from refdb.job.inputs.sensors import read_sensors


def read_inputs(job: Job, database: Database) -> Inputs:
    """The numbers of a job.

    Raises:
        Problem: an input is wrong, contradicts another, or is neither given nor in the release.
    """
    check_document(job)
    release = database.release(job.release)
    inputs = Inputs(job, database, release, Options(estimates=job.accept == "estimates"))
    read_temperatures(inputs)
    check_temperatures(inputs)
    read_liquid(inputs)
    read_pipe(inputs)
    read_sensors(inputs)
    return inputs
