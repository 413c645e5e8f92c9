"""After mounting: what explains a sound speed, the zero, and sensors fitted from what is known."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import fit, work_step
from refdb.job.acoustics.spacing import Layer, spacing, total_time
from refdb.job.mounted import causes_of
from refdb.job.work import begin
from refdb.problems import BadParameter
from tests.job.conftest import Changed

ALONG = math.sin(math.radians(38.0)) / 2450.0
WATER = 1536.97596991


def _shown(bore: float, wall: float, place: float) -> float:
    """The speed that an instrument finds which was told a bore of 204.9 mm, a wall of 7.1 mm and the ray's spacing."""
    entered = float(spacing(2, 0.2049, WATER, [Layer(0.0071, 3230.0)], ALONG))
    time = float(total_time(2, bore, WATER, [Layer(wall, 3230.0)], ALONG, entered + place))
    across_wall = math.sqrt(1.0 / 3230.0**2 - ALONG**2)
    across = (time - ALONG * entered - 2.0 * 0.0071 * across_wall) / (2.0 * 0.2049)
    return 1.0 / math.hypot(across, ALONG)


def _explanations(database: Database, job: dict[str, Any]) -> dict[str, Any]:
    told = work_step("mounted", job, database)["mounted"]["sound_speed"]
    return {item["cause"]: item for item in told["explanations"]} | {"text": told["text"], "agrees": told["agrees"]}


@pytest.mark.parametrize(
    ("cause", "bore", "wall", "place", "root"),
    [
        ("bore", 0.1990, 0.0071, 0.0, 199.0),
        ("bore", 0.2120, 0.0071, 0.0, 212.0),
        ("wall", 0.2191 - 2 * 0.0110, 0.0110, 0.0, 11.0),
        ("spacing", 0.2049, 0.0071, 0.020, 20.0),
    ],
)
def test_the_error_that_made_a_reading_is_among_its_explanations(
    database: Database, changed: Changed, cause: str, bore: float, wall: float, place: float, root: float
) -> None:
    inputs, path = begin(changed(), database)
    found = {item.name: item for item in causes_of(inputs, path, _shown(bore, wall, place), 1.0)}
    assert found[cause].roots[0] == pytest.approx(root, rel=1e-6)


def test_a_small_error_of_the_bore_follows_the_square_of_the_cosine(database: Database, changed: Changed) -> None:
    """dc/c = cos2(theta) dD/D at fixed spacing: 0.1 % too large a bore entered reads 0.085 % fast."""
    speed = WATER * (1.0 + 0.001 * math.cos(math.radians(22.72)) ** 2)
    inputs, path = begin(changed(), database)
    bore = next(item for item in causes_of(inputs, path, speed, 1.0) if item.name == "bore")
    assert bore.roots[0] == pytest.approx(204.9 * 0.999, rel=2e-6)


def test_a_speed_that_agrees_needs_no_explanation(database: Database, changed: Changed) -> None:
    told = _explanations(database, changed(mounted={"sound_speed": "1540 m/s"}))
    assert told["agrees"] is True
    assert set(told) == {"text", "agrees"}


def test_all_temperatures_with_the_speed_are_told(database: Database, changed: Changed) -> None:
    """Water's speed turns near 74 degC: 1500 m/s is reached on either side."""
    told = _explanations(database, changed(mounted={"sound_speed": "1500 m/s"}))
    places = [root["magnitude"] for root in told["temperature"]["roots"]]
    assert len(places) == 2
    assert places[0] < 45.0 < 74.0 < places[1]
    for place in places:
        speed = database.value("water", "sound_speed", temperature=f"{place} degC", pressure="0.4 MPa")
        assert speed.magnitude == pytest.approx(1500.0, abs=0.01)


@pytest.mark.parametrize(("strength", "share"), [("30 % mass", 0.300), ("36.2 % ABV", 0.300)])
def test_all_strengths_with_the_speed_are_told(
    database: Database, changed: Changed, strength: str, share: float
) -> None:
    liquid = {"substance": "ethanol-water", "strength": strength, "temperature": "20 degC"}
    told = _explanations(database, changed(liquid=liquid, mounted={"sound_speed": "1560 m/s"}))
    assert len(told["strength"]["roots"]) == 2
    assert told["strength"]["entered"]["magnitude"] == pytest.approx(share, abs=0.002)


def test_causes_that_one_reading_cannot_tell_apart_are_named_with_what_tells_them_apart(
    database: Database, changed: Changed
) -> None:
    job = changed(
        mounted={"sound_speed": "1500 m/s"},
        liquid={"temperature_uncertainty": "6 K"},
        pipe={"outside_diameter_uncertainty": "4 mm"},
    )
    told = _explanations(database, job)
    assert told["bore"]["likely"]
    assert told["temperature"]["likely"]
    assert "cannot tell them apart" in told["text"]
    assert "thermometer" in told["text"]
    assert "tape" in told["text"]


def test_a_speed_nothing_explains_says_so(database: Database, changed: Changed) -> None:
    told = _explanations(database, changed(mounted={"sound_speed": "1300 m/s", "sound_speed_uncertainty": "1 m/s"}))
    assert not any(item["likely"] for name, item in told.items() if name not in {"text", "agrees"})
    assert "none of the explanations" in told["text"]


def test_a_zero_reading_is_a_velocity(database: Database, changed: Changed) -> None:
    """145.27 ns stand for 1 m/s in the specification's check; what is read at rest is told in the same way."""
    told = work_step("mounted", changed(mounted={"zero_difference": "0.14527 ns"}), database)["mounted"]["zero"]
    assert told["residual_velocity"]["magnitude"] == pytest.approx(1e-3, rel=1e-4)
    # 150 m3/h are 1.2636 m/s in the mean and, with the measured profiles' factor of 0.9366, 1.3492 m/s along the path.
    assert told["of_normal_flow"]["magnitude"] == pytest.approx(100.0 * 1e-3 * 0.9366 / 1.2636, rel=2e-4)


def _known(passes: int, bore: float = 0.2, shift: float = 0.0, **lining: float) -> dict[str, Any]:
    layers = [Layer(0.007, 3230.0)]
    texts = {"bore": f"{bore!r} m", "sound_speed": "1480 m/s", "wall": "7 mm", "wall_speed": "3230 m/s"}
    if lining:
        layers.append(Layer(lining["thickness"], lining["speed"]))
        texts |= {"lining": f"{lining['thickness']!r} m", "lining_speed": f"{lining['speed']!r} m/s"}
    place = float(spacing(passes, bore, 1480.0, layers, ALONG, 0.012)) + shift
    return texts | {"spacing": f"{place!r} m", "passes": passes}


def test_sensors_are_fitted_through_linings(database: Database) -> None:
    told = fit({"known": [_known(2), _known(2, 0.3, thickness=0.004, speed=2500.0), _known(1)]})
    assert told["slowness"]["magnitude"] == pytest.approx(ALONG, rel=1e-6)
    assert told["offset"]["magnitude"] == pytest.approx(12.0, abs=1e-3)
    assert max(abs(each["magnitude"]) for each in told["residuals"]) < 1e-6


def test_two_spacings_leave_nothing_to_check_by(database: Database) -> None:
    told = fit({"known": [_known(2), _known(4)]})
    assert told["scatter"] is None
    assert "a third one would show" in told["warnings"][0]


def test_a_spacing_that_does_not_fit_shows_in_residuals_and_uncertainty() -> None:
    good = fit({"known": [_known(n) for n in (1, 2, 4)]})
    bad = fit({"known": [_known(1), _known(2, shift=0.008), _known(4)]})
    assert bad["scatter"] > 2.0
    assert bad["warnings"]
    assert bad["offset_uncertainty"]["magnitude"] > good["offset_uncertainty"]["magnitude"]


def test_the_uncertainty_of_a_fit_is_that_of_its_spacings() -> None:
    """Two spacings, n and 2n passes without a change of layers: s0 = 2 s1 - s2 for n and 2n of the liquid's part."""
    known = [_known(1) | {"wall": "1 um"}, _known(2) | {"wall": "1 um"}]
    told = fit({"known": known})
    assert told["offset_uncertainty"]["magnitude"] == pytest.approx(0.5 * math.sqrt(5.0), rel=0.01)


def test_fitted_sensors_serve_in_a_job(database: Database, changed: Changed) -> None:
    told = fit({"known": [_known(1), _known(2), _known(4)]})["sensors"]
    inputs, path = begin(changed(sensors=told), database)
    assert path.along == pytest.approx(ALONG, rel=1e-6)
    assert inputs.value("offset") == pytest.approx(0.012, abs=1e-6)


def test_spacings_of_one_arrangement_fix_nothing() -> None:
    with pytest.raises(BadParameter, match=r"^known: "):
        fit({"known": [_known(2), _known(2, shift=0.001)]})


def test_the_more_alike_two_spacings_are_the_less_they_fix_until_nothing() -> None:
    """The closed form: two spacings differ by the slope of the liquid's part in the slowness, times the bores' rest."""
    told = fit({"known": [_known(2), _known(2, 0.201)]})
    slope = 2.0 * 0.001 * 1480.0 / (1.0 - (1480.0 * ALONG) ** 2) ** 1.5
    assert told["slowness_uncertainty"]["magnitude"] == pytest.approx(math.sqrt(2.0) * 0.0005 / slope, rel=1e-3)
    with pytest.raises(BadParameter, match=r"known: spacings so alike, .*, do not tell slowness and offset apart; add"):
        fit({"known": [_known(2), _known(2, 0.2 + 1e-8)]})
