"""What is asked about pipes, their linings and the roughness of surfaces."""

from __future__ import annotations

from collections.abc import Sequence

from refdb.questions import Question, asked, question
from refdb.questions.groups import AskedEstimates, AskedLimit, AskedPage, AskedRelease, AskedUnit, AskedUnits
from refdb.units.sizes import Given


@question
class PipesQuestion(AskedUnits, AskedEstimates, AskedRelease, AskedPage):
    """Pipes in the trade's words."""

    system: str | None = asked(
        "A pipe system by its id or name; all of them when not given.", "b36.10", positional=True
    )
    size: str | None = asked("A size in the trade's words: NPS 8, 2 1/2, DN200.", "NPS 8", positional=True)
    designation: str | None = asked("A wall in the trade's words: 40, Sch 40, STD.", "40", positional=True)


@question
class PipeRowQuestion(AskedUnits, AskedEstimates, AskedRelease):
    """One pipe by its row."""

    pipe_id: str = asked("The id of the row of a pipe.", "b36.10-nps-8-sch-40", required=True)


@question
class PipeQuestion(Question):
    """What was measured and told of a pipe, as it was given: texts or quantities."""

    circumference: Given | None = asked("By a tape around the pipe.", "690 mm", dimension="length")
    outside_diameter: Given | Sequence[Given] | None = asked(
        "By calipers across the pipe.", "219.3 mm", dimension="length", repeatable=True, default=None
    )
    wall: Given | Sequence[Given] | None = asked(
        "By a thickness gauge on the pipe.", "8.1 mm", dimension="length", repeatable=True, default=None
    )
    material: str | None = asked("What the pipe is of, by an exact name or a word for it.", "carbon steel")
    system: str | None = asked("The pipe system, where it is known.", "b36.10")
    wall_points: str | int | None = asked(
        "Of how many points a single wall reading is the mean.", "4", metavar="NUMBER"
    )
    tape_thickness: Given | None = asked(
        "Thickness of the tape around the pipe; 0 to 0.2 mm when not given.", "0.15 mm", dimension="length"
    )
    coating: Given | None = asked(
        "Thickness of the paint or coating on the pipe; none when not given.", "0.3 mm", dimension="length"
    )
    lining: Given | None = asked(
        "Thickness of the lining; the measured bore is without it when not given.", "4 mm", dimension="length"
    )
    circumference_uncertainty: Given | None = asked(
        "Standard uncertainty of the tape's reading.", "1 mm", dimension="length"
    )
    outside_diameter_uncertainty: Given | None = asked(
        "Standard uncertainty of the mean of the calipers' readings.", "0.2 mm", dimension="length"
    )
    wall_uncertainty: Given | None = asked(
        "Standard uncertainty of the mean of the wall readings.", "0.1 mm", dimension="length"
    )
    gauge_speed: Given | None = asked(
        "The speed the thickness gauge was set to; the wall is corrected by it.", "5920 m/s", dimension="speed"
    )
    material_speed: Given | None = asked(
        "Longitudinal speed of the pipe's material; that of its row when not given.", "5890 m/s", dimension="speed"
    )
    gauge_reads_coating: str | None = asked(
        "Whether the wall holds the coating too; no when not given.", "no", choices=("yes", "no")
    )
    temperature: Given | None = asked("Temperature of the wall.", "80 degC", dimension="temperature")


@question
class MatchPipeQuestion(PipeQuestion, AskedLimit, AskedUnits, AskedEstimates, AskedRelease):
    """Which pipes it can be, by what was measured."""


@question
class LiningsQuestion(AskedUnits, AskedEstimates, AskedRelease, AskedPage):
    """What standards line pipes with."""

    system: str | None = asked("Only linings of pipes of this system, by its id or name.", "en545", positional=True)
    size: str | None = asked("Only linings of pipes of this size, in the trade's words.", "DN200", positional=True)
    material: str | None = asked("Only linings of this material, by its exact name.", "cement-mortar")


@question
class RoughnessQuestion(AskedUnit, AskedUnits, AskedRelease, AskedPage):
    """The roughness of surfaces."""

    material: str | None = asked(
        "A material or a surface by its exact name; all surfaces when not given.", "carbon-steel", positional=True
    )
