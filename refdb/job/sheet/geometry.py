"""The pipe and the path of the sound as points, in millimetres, from a job's document."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from refdb.units import units

Point = tuple[float, float]
WEDGE_OF_DIAMETER = 0.14
"""The sound's way in a wedge whose size is not told, as a part of the diameter: only its angle is drawn to scale."""
ELEMENT_OF_WAY, FRONT = 0.45, 1.2
"""Half the element over the way in the wedge, and what the wedge reaches beyond the exit point, in half elements."""


@dataclass(frozen=True, slots=True)
class Band:
    """A layer from outside to inside: its thickness, and the angle of the sound in it; None where no path was traced.

    The sound is then drawn straight across.
    """

    name: str
    thickness: float
    angle: float | None

    @property
    def shift(self) -> float:
        """How far the sound goes along the pipe in it."""
        return self.thickness * math.tan(self.angle) if self.angle is not None else 0.0


@dataclass(frozen=True, slots=True)
class Geometry:
    """One pipe, cut along its axis; x from the first exit point, y up from the axis."""

    outside: float
    bands: tuple[Band, ...]
    liquid_angle: float
    wedge_angle: float
    passes: int
    spacing: float
    offset: float
    housing: float | None

    @property
    def top(self) -> float:
        """Where the sensors stand: the outside of the outermost layer."""
        return self.outside / 2.0 + sum(band.thickness for band in self.bands if band.name == "coating")

    @property
    def bore(self) -> float:
        """Inside everything."""
        return 2.0 * (self.top - sum(band.thickness for band in self.bands))

    @property
    def exit_spacing(self) -> float:
        """Between the exit points."""
        return self.spacing - self.offset

    @property
    def side(self) -> int:
        """Of the second sensor: 1 on the side of the first, -1 across."""
        return 1 if self.passes % 2 == 0 else -1

    def way(self) -> list[Point]:
        """The path of the sound between the exit points."""
        points = [(0.0, self.top)]
        for band in self.bands:
            points.append((points[-1][0] + band.shift, points[-1][1] - band.thickness))
        for _ in range(self.passes):
            x, y = points[-1]
            points.append((x + self.bore * math.tan(self.liquid_angle), -y))
        for band in reversed(self.bands):
            x, y = points[-1]
            points.append((x + band.shift, y + math.copysign(band.thickness, y)))
        return points

    def way_in_wedge(self) -> float:
        """The sound's way in a wedge, from the size of the housing where it is told and finds room."""
        usual = self._way_of_housing() if self.housing is not None else WEDGE_OF_DIAMETER * self.outside
        if self.side > 0 and self.exit_spacing > 0.0:
            usual = min(usual, self._way_with_room())
        return usual

    @property
    def crowded(self) -> bool:
        """Whether housings of the size that is told would stand in each other: they are then drawn smaller."""
        return self.housing is not None and self.side > 0 and self._way_of_housing() > self._way_with_room()

    def _way_of_housing(self) -> float:
        assert self.housing is not None  # noqa: S101 - the callers looked
        return self.housing / (math.sin(self.wedge_angle) + ELEMENT_OF_WAY * (math.cos(self.wedge_angle) + FRONT))

    def _way_with_room(self) -> float:
        """Two wedges in line leave a gap between their fronts."""
        high = ELEMENT_OF_WAY * math.cos(self.wedge_angle) - math.sin(self.wedge_angle)
        return 0.4 * self.exit_spacing / (ELEMENT_OF_WAY * FRONT + max(0.0, high))

    def wedge(self) -> tuple[list[Point], Point]:
        """The first wedge and the middle of its element, from the exit point, y outwards."""
        way, angle = self.way_in_wedge(), self.wedge_angle
        half = way * min(ELEMENT_OF_WAY, 0.8 / math.tan(angle))
        middle = (-way * math.sin(angle), way * math.cos(angle))
        high = (middle[0] + half * math.cos(angle), middle[1] + half * math.sin(angle))
        low = (middle[0] - half * math.cos(angle), middle[1] - half * math.sin(angle))
        front = max(high[0], 0.0) + FRONT * half
        return [(low[0], 0.0), low, high, (front, high[1]), (front, 0.0)], middle


def geometry(document: Mapping[str, Any]) -> Geometry | None:
    """What a document says of the section; None where it holds no spacing to draw."""
    waves, spacing = document.get("waves"), document.get("spacing")
    if waves is None or spacing is None:
        return None
    arrangement = document["arrangement"]
    worked = next(item for item in spacing["passes"] if item["passes"] == arrangement["passes"])
    given = {item["name"]: item["value"] for item in document["inputs"]}
    housing = arrangement["housing_length"]
    return Geometry(
        outside=millimetres(given["outside diameter"]),
        bands=tuple(_bands(given, waves)),
        liquid_angle=math.radians(waves["liquid_angle"]["magnitude"]),
        wedge_angle=math.radians(given["wedge angle"]["magnitude"]),
        passes=arrangement["passes"],
        spacing=millimetres(worked["spacing"]),
        offset=millimetres(given["offset"]),
        housing=millimetres(housing) if housing is not None else None,
    )


def _bands(given: Mapping[str, Any], waves: Mapping[str, Any]) -> list[Band]:
    angles = {layer["layer"]: math.radians(layer["angle"]["magnitude"]) for layer in waves["layers"]}
    names = (("coating", "coating"), ("wall", "wall"), ("lining", "lining thickness"), ("deposits", "deposits"))
    return [
        Band(name, millimetres(given[label]), angles.get(name))
        for name, label in names
        # Sensors stand on a coating only where its speed is told; else it is taken off there.
        if label in given and millimetres(given[label]) > 0.0 and (name != "coating" or name in angles)
    ]


def millimetres(quantity: Mapping[str, Any]) -> float:
    """A length of a document, in millimetres."""
    unit = units().find(quantity["unit"], "length")
    return float(unit.to(quantity["magnitude"], units().find("mm", "length")))
