"""Moist air: how much water it holds, and the temperature at which it starts to condense.

Saturation by Hyland and Wexler (1983), as given in ASHRAE Fundamentals, chapter 1, calculated by PsychroLib: over
liquid water above 0.01 °C, over ice below. So below freezing the dew point is the frost point, slightly above the dew
point over supercooled water reported by weather services. All temperatures in °C, humidity as a share of 1, pressures
in Pa; floats, estimates. Valid from -40 to 60 °C.
"""

from types import ModuleType

from woodshop.errors import InputError, Problem

COLDEST, HOTTEST = -40.0, 60.0  # °C: what a hive meets, well inside the -100 to 200 °C of the formulas


def saturation_pressure(celsius: float) -> float:
    """Pressure in Pa of saturated water vapor at that temperature. Raises InputError outside -40 to 60 °C.

    >>> round(saturation_pressure(20.0))
    2339
    """
    _refuse(_temperature(celsius))
    return float(_library().GetSatVapPres(celsius))


def vapour_pressure(celsius: float, humidity: float) -> float:
    """Pressure in Pa of the water vapor in air of that relative humidity, from 0 to 1. Raises InputError."""
    _refuse(_temperature(celsius), _humidity(humidity))
    return humidity * saturation_pressure(celsius)


def dew_point(celsius: float, humidity: float) -> float:
    """Temperature in °C at which that air starts to condense; below 0 °C the frost point. Raises InputError.

    Humidity is relative, above 0 and up to 1. Raises InputError for air so dry that its dew point is below -40 °C.

    >>> round(dew_point(30.0, 0.75), 1), round(dew_point(-5.0, 0.8), 1)
    (25.1, -7.6)
    """
    dry = [] if humidity > 0 else [_problem("humidity", f"{humidity * 100:g} %", "more than 0 %")]
    _refuse(_temperature(celsius), _humidity(humidity), *dry)
    pressure = vapour_pressure(celsius, humidity)
    return dew_point_of(pressure)


def dew_point_of(pressure: float) -> float:
    """Temperature in °C at which vapor of that pressure in Pa condenses. Raises InputError outside -40 to 60 °C."""
    least, most = saturation_pressure(COLDEST), saturation_pressure(HOTTEST)
    if not least <= pressure <= most:
        _refuse(_problem("vapor pressure", f"{pressure:.1f} Pa", f"{least:.1f} to {most:.0f} Pa (-40 to 60 °C)"))
    # PsychroLib wants an air temperature only to begin its search and to check the answer against
    return float(_library().GetTDewPointFromVapPres(HOTTEST, pressure))


def _library() -> ModuleType:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)  # the setting is the whole process's: never left to another caller
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
