"""What air weighs: height, temperature and humidity, and what is refused."""

import pytest

from evlab import weather
from evlab.units import InputError
from evlab.weather import air_density_at


def test_humid_air_is_lighter_and_height_thins_it():
    assert air_density_at(humidity=1.0) < air_density_at(humidity=0.0)
    assert air_density_at(1500.0) < air_density_at(0.0)
    assert air_density_at(0.0, 268.15) > air_density_at(0.0, 308.15)


def test_density_by_a_library_over_the_range():
    humid = pytest.importorskip("CoolProp.HumidAirProp", reason="CoolProp is not installed: it belongs to the test dependencies")
    for kelvin in (263.15, 283.15, 303.15, 313.15):
        for share in (0.0, 0.5, 1.0):
            theirs = 1 / humid.HAPropsSI("Vha", "T", kelvin, "P", 101325.0, "R", share)
            assert air_density_at(0.0, kelvin, share) == pytest.approx(theirs, rel=1.2e-3)


def test_the_libraries_say_what_is_printed():
    humid = pytest.importorskip("CoolProp.HumidAirProp", reason="CoolProp is not installed: it belongs to the test dependencies")
    for kelvin, share, printed in ((293.15, 0.5, 1.19931), (288.15, 0.0, 1.22552)):
        assert 1 / humid.HAPropsSI("Vha", "T", kelvin, "P", 101325.0, "R", share) == pytest.approx(printed, abs=6e-5)  # by release


def test_the_standard_atmosphere_of_a_library():
    fluids = pytest.importorskip("fluids", reason="fluids is not installed: it belongs to the test dependencies")
    for height in (0.0, 500.0, 1000.0, 3000.0):
        assert air_density_at(height, humidity=0.0) == pytest.approx(fluids.ATMOSPHERE_1976(height).rho, rel=2e-4)
        assert weather.standard_temperature(height) == pytest.approx(fluids.ATMOSPHERE_1976(height).T, abs=0.01)


@pytest.mark.parametrize(("given", "words"), [
    ({"humidity": 50.0}, "humidity of weather.air_density_at must be 0 to 1; instead received 50."),
    ({"temperature": 20.0}, "temperature of weather.air_density_at must be 203.15 to 333.15 K; instead received 20 K."),
    ({"altitude": 2e4}, "altitude of weather.air_density_at must be -500 to 11000 m; instead received 20000 m."),
    ({"temperature": float("nan")}, "instead received nan K."),
])
def test_what_is_refused(given, words):
    with pytest.raises(InputError) as said:
        air_density_at(**given)
    assert words in str(said.value)


def test_the_density_of_the_road_still_goes():
    from evlab.road import air_density

    assert air_density(101325.0, 288.15) == pytest.approx(1.225, abs=1e-4)
    assert "outside the range" in weather.vapour_pressure(350.0).note
