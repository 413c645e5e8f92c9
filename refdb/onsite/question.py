"""What is asked about a speed that was measured on site."""

from __future__ import annotations

from refdb.questions import Question, asked, group, question
from refdb.questions.groups import AskedRelease
from refdb.units.sizes import Given


@group
class Echo(Question):
    """What was measured on a solid part."""

    thickness: Given | None = asked("Of the solid part where the probe stands.", "12.50 mm", dimension="length")
    thickness_uncertainty: Given | None = asked(
        "The standard uncertainty of the thickness.", "0.02 mm", dimension="length"
    )
    echo_time: Given | None = asked(
        "From the first echo of the back wall to the n-th after it.", "4.23 us", dimension="time"
    )
    echo_time_uncertainty: Given | None = asked(
        "The standard uncertainty of the echo time.", "0.01 us", dimension="time"
    )
    echoes: int = asked(
        "How many round trips the echo time is.",
        "1",
        default=1,
        must_be="a whole number of round trips",
    )


@group
class Travel(Question):
    """What was measured on a liquid in a spool or a beaker."""

    travel_time: Given | None = asked(
        "Through a liquid, without the delays of probes and walls, or the difference over two paths.",
        "67.5 us",
        dimension="time",
    )
    travel_time_uncertainty: Given | None = asked(
        "The standard uncertainty of the travel time.", "0.05 us", dimension="time"
    )
    path: Given | None = asked("Through the liquid; of two paths their difference.", "100 mm", dimension="length")
    path_uncertainty: Given | None = asked("The standard uncertainty of the path.", "0.1 mm", dimension="length")
    water_time: Given | None = asked(
        "The travel time with water in the same vessel, in place of the path.", "67.5 us", dimension="time"
    )
    water_time_uncertainty: Given | None = asked(
        "The standard uncertainty of the time in water.", "0.05 us", dimension="time"
    )
    temperature: Given | None = asked(
        "Temperature of water and liquid; goes with the travel time in water.", "20 degC", dimension="temperature"
    )
    temperature_uncertainty: Given | None = asked(
        "The standard uncertainty of that temperature.", "0.2 K", dimension="temperature_difference"
    )


@question
class LiquidSpeedQuestion(Travel):
    """What was measured in a spool or beaker, as it was given: texts or quantities."""


@group
class SpeedUnit(Question):
    """The unit that the speed is wanted in."""

    speed_unit: str = asked("The unit of the speed.", "m/s", default="m/s", option="unit", parameter="unit")


@question
class MeasureSpeedQuestion(Echo, Travel, SpeedUnit, AskedRelease):
    """A speed measured on site: in a solid part from echoes, or in a liquid from its travel time."""
