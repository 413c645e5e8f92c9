"""The documents of jobs."""

from refdb.documents import OpenDocument


class JobDocument(OpenDocument):
    """What a job or a step gave: release, rows with digests, inputs, results by step, assumptions, cautions."""
