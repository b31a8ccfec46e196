"""Moist air: how much water it holds, and the temperature at which the water starts to condense.

PsychroLib calculates saturation by Hyland and Wexler (1983), as given in ASHRAE Fundamentals, chapter 1: over liquid
water above 0.01 °C, over ice below that. Below freezing the dew point is therefore the frost point, slightly above the
dew point over supercooled water that weather services report. Temperatures are in °C, humidity is a fraction of 1,
pressures are in Pa; all are floats and estimates. The functions are valid from -40 to 60 °C.
"""

from functools import lru_cache
from types import ModuleType

from woodshop.errors import InputError, Problem

COLDEST, HOTTEST = -40.0, 60.0  # °C: the range in a hive, well inside the -100 to 200 °C of the formulas


def saturation_pressure(celsius: float) -> float:
    """The pressure in Pa of saturated water vapor at this temperature. Raises InputError outside -40 to 60 °C.

    >>> round(saturation_pressure(20.0))
    2339
    """
    _refuse(_temperature(celsius))
    return float(_library().GetSatVapPres(celsius))


def vapour_pressure(celsius: float, humidity: float) -> float:
    """The pressure in Pa of water vapor in air; `humidity` is relative, 0 to 1. Raises InputError if out of range."""
    _refuse(_temperature(celsius), _humidity(humidity))
    return humidity * saturation_pressure(celsius)


@lru_cache(256)
def dew_point(celsius: float, humidity: float) -> float:
    """The temperature in °C at which water starts to condense from this air; below 0 °C, the frost point.

    `humidity` is relative, above 0 and up to 1. Raises InputError for a value out of range, and for air so dry that its
    dew point is below -40 °C.

    >>> round(dew_point(30.0, 0.75), 1), round(dew_point(-5.0, 0.8), 1)
    (25.1, -7.6)
    """
    dry = [] if humidity > 0 else [_problem("humidity", f"{humidity * 100:g} %", "more than 0 %")]
    _refuse(_temperature(celsius), _humidity(humidity), *dry)
    pressure = vapour_pressure(celsius, humidity)
    return dew_point_of(pressure)


def dew_point_of(pressure: float) -> float:
    """The temperature in °C at which vapor of this pressure in Pa condenses. Raises InputError outside -40 to 60 °C."""
    least, most = saturation_pressure(COLDEST), saturation_pressure(HOTTEST)
    if not least <= pressure <= most:
        _refuse(_problem("vapor pressure", f"{pressure:.1f} Pa", f"{least:.1f} to {most:.0f} Pa (-40 to 60 °C)"))
    # PsychroLib uses an air temperature only to begin its search and to check the answer
    return float(_library().GetTDewPointFromVapPres(HOTTEST, pressure))


def _library() -> ModuleType:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)  # for the whole process, so set it every time
    library: ModuleType = psychrolib
    return library


def _temperature(celsius: float) -> Problem | None:
    if COLDEST <= celsius <= HOTTEST:
        return None
    return _problem("temperature", f"{celsius:g} °C", f"{COLDEST:g} to {HOTTEST:g} °C")


def _humidity(humidity: float) -> Problem | None:
    if 0 <= humidity <= 1:
        return None
    return _problem("relative humidity", f"{humidity:g}", "a share from 0 to 1, such as 0.75")


def _problem(where: str, given: str, wanted: str) -> Problem:
    return Problem(where, given, wanted, "Give what was measured.")


def _refuse(*problems: Problem | None) -> None:
    found = [problem for problem in problems if problem]
    if found:
        raise InputError(*found)
