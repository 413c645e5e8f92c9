"""Answers: objects that know their unit, uncertainty, row and sources, and the documents every surface prints."""

from refdb.answer.batch import Batch
from refdb.answer.database import Database, open_database
from refdb.answer.lining import LiningAnswer
from refdb.answer.liquid_measurement import LiquidQuestion
from refdb.answer.liquid_recipe import LiquidSpeedQuestion
from refdb.answer.pipe import PipeAnswer
from refdb.answer.pipe_measurement import PipeQuestion
from refdb.answer.roughness import RoughnessAnswer
from refdb.answer.suspension_question import SuspensionQuestion
from refdb.answer.value import Answer, Values

__all__ = [
    "Answer",
    "Batch",
    "Database",
    "LiningAnswer",
    "LiquidQuestion",
    "LiquidSpeedQuestion",
    "PipeAnswer",
    "PipeQuestion",
    "RoughnessAnswer",
    "SuspensionQuestion",
    "Values",
    "open_database",
]
