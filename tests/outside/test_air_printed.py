"""Moist air agrees with a printed table, with two printed formulas, and with another library."""

import math

import pytest

from woodshop.engineering.moist_air import (
    dew_point,
    saturation_pressure,
    vapour_pressure,
)

TABLE = "Engineering ToolBox, moist air properties: saturation pressure in N/m2 at -40 to 40 °C"
PRINTED = {-40: 12.84, -20: 103.2, -15: 165.2, -10: 259.2, -5: 401.5, 0: 610.8, 5: 871.9, 10: 1227, 15: 1704,
           20: 2337, 25: 3167, 30: 4243, 35: 5623, 40: 7378}  # fmt: skip


@pytest.mark.outside(TABLE)
@pytest.mark.parametrize(("celsius", "printed"), PRINTED.items())
def test_saturation_pressure_agrees_with_a_table(celsius: int, printed: float) -> None:
    """Within 0.3 % of the table, ice below freezing and water above; it goes back to older formulas."""
    assert abs(saturation_pressure(celsius) / printed - 1) < 0.003


def magnus(celsius: float) -> float:
    """Alduchov and Eskridge, Journal of Applied Meteorology 35, 601-609, 1996, over water, Pa."""
    return 610.94 * math.exp(17.625 * celsius / (243.04 + celsius))


def buck(celsius: float) -> float:
    """Buck Research, CR-1A manual, Appendix 1, 1996 (not the constants of 1981), Pa."""
    if celsius < 0:
        return 611.15 * math.exp((23.036 - celsius / 333.7) * celsius / (279.82 + celsius))
    return 611.21 * math.exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))


@pytest.mark.outside("Buck Research, CR-1A user's manual, Appendix 1, 1996")
@pytest.mark.parametrize("celsius", range(-40, 61, 5))
def test_saturation_pressure_agrees_with_buck(celsius: int) -> None:
    """Within 0.2 % from -40 to 60 °C, over ice and over water."""
    assert abs(saturation_pressure(celsius) / buck(celsius) - 1) < 0.002


@pytest.mark.outside("Alduchov and Eskridge, Journal of Applied Meteorology 35, 601-609, 1996")
@pytest.mark.parametrize("celsius", range(5, 51, 5))
def test_saturation_pressure_agrees_with_magnus(celsius: int) -> None:
    """Within 0.4 % over water, as its authors claim for -40 to 50 °C."""
    assert abs(saturation_pressure(celsius) / magnus(celsius) - 1) < 0.004


@pytest.mark.outside("Alduchov and Eskridge 1996, solved for the dew point")
@pytest.mark.parametrize(("celsius", "percent"), [(10, 75), (20, 60), (30, 75), (35, 50), (15, 90)])
def test_dew_point_agrees_with_the_formula_by_hand(celsius: int, percent: int) -> None:
    """Within a twentieth of a degree above freezing."""
    g = math.log(percent / 100) + 17.625 * celsius / (243.04 + celsius)
    assert abs(dew_point(celsius, percent / 100) - 243.04 * g / (17.625 - g)) < 0.05


CHART = {(70, 65): 57, (70, 50): 50, (60, 75): 52, (50, 90): 47, (50, 50): 31, (90, 60): 73, (100, 40): 71}


@pytest.mark.outside("a coating maker's dew point calculation chart, °F; its example: 70 °F and 65 % give 57 °F")
@pytest.mark.parametrize(("air", "printed"), CHART.items())
def test_dew_point_agrees_with_a_chart(air: tuple[int, int], printed: int) -> None:
    """Within a degree Fahrenheit and a half of the chart, whose figures are whole degrees."""
    fahrenheit, percent = air
    ours = dew_point((fahrenheit - 32) / 1.8, percent / 100) * 1.8 + 32
    assert abs(ours - printed) < 1.5


@pytest.mark.outside("CoolProp, HumidAir (ASHRAE RP-1485: Herrmann, Kretzschmar and Gatley, 2009)")
@pytest.mark.parametrize("celsius", [-30, -10, -1, 1, 10, 20, 35])
@pytest.mark.parametrize("humidity", [0.3, 0.5, 0.75, 0.95, 1.0])
def test_moist_air_agrees_with_another_library(celsius: int, humidity: float) -> None:
    """Dew or frost point within 0.01 °C, where it lies within what is worked out."""
    from CoolProp.CoolProp import HAPropsSI  # takes seconds to import

    state = ("T", celsius + 273.15, "P", 101_325, "R", humidity)
    if vapour_pressure(celsius, humidity) >= saturation_pressure(-40):
        assert abs(dew_point(celsius, humidity) - (HAPropsSI("D", *state) - 273.15)) < 0.01
