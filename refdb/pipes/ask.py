"""Which pipes it can be, asked with a reader: the pipes of a release are prepared once, speeds come from its rows."""

from __future__ import annotations

from refdb.lookup import ReleaseInfo
from refdb.lookup.state import read_state
from refdb.pipes.candidates import candidates
from refdb.pipes.match import PipeMatch, match_pipe
from refdb.pipes.measurement import Speed
from refdb.pipes.question import PipeQuestion
from refdb.problems import MissingState, NotAvailable, OutsideRange, UnknownName
from refdb.units import units
from refdb.values.ask import values_at
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.values.value import Answer


def matched(reader: Reader, asked: PipeQuestion, options: Options, release: ReleaseInfo, limit: int) -> PipeMatch:
    """Which pipes it can be, by what was measured.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension, OutsideRange, BadParameter: a measurement is wrong.
        MissingState: a wall cannot be corrected without the material.
        UnknownName, AmbiguousName: no one material or system is called so.
        NotAvailable: the release has no pipes of the system.
    """
    store = reader.store
    which = "candidates with estimates" if options.estimates else "candidates"
    known = store.once(which, release, lambda: candidates(store, release, options.estimates))
    return match_pipe(store, release, known, asked, _speeds(reader, release), options, limit)


def _speeds(reader: Reader, release: ReleaseInfo) -> Speed:
    """Finds a material's longitudinal speed: at the temperature where its row goes so far, at 20 degC otherwise."""

    def speed(material: str, celsius: float | None) -> tuple[float, float, str]:
        at = f"{celsius:g} degC" if celsius is not None else None
        try:
            found = _longitudinal(reader, material, at, release)
        except OutsideRange:
            found = _longitudinal(reader, material, None, release)
        except (NotAvailable, UnknownName):
            raise MissingState(
                f"material_speed: release {release.label} has no longitudinal speed of {material} to correct the "
                "wall by; give the speed, or leave gauge_speed out.",
                parameter="material_speed",
            ) from None
        value, uncertainty = float(found.value.magnitude), float(found.standard_uncertainty.magnitude)
        return value, uncertainty, f"{value:g} m/s ± {uncertainty:.2g} m/s of row {found.row}"

    return speed


def _longitudinal(reader: Reader, material: str, at: str | None, release: ReleaseInfo) -> Answer:
    options = Options(units={"longitudinal_speed": units().find("m/s", "speed").symbol})
    state = read_state(at)
    return values_at(reader, material, ["longitudinal_speed"], state=state, options=options, release=release).values[0]
