"""Generate weather/example-year.csv next to this file: an invented year at an invented location.

No value was measured, and no real location is represented. The temperature is the sum of an annual
wave, a daily wave and weather that changes within days; hot air is dry by the afternoon. The
amplitudes are engineering judgment for a warm inland location with a long cooling season.

Command: python data/make_weather.py
"""

from pathlib import Path

import numpy as np

from airover.physics.air import saturation_pressure

SEED = 20279
HOURS = 8760
PLACE = "Sampleton, an invented town; every figure is made up"
ELEVATION = 320.0  # m

MEAN = 17.5  # degC, annual mean
YEARLY = 11.5  # K, amplitude; the warmest day is the 200th
DAILY = (4.5, 6.5)  # K, amplitude in winter and in summer; the warmest hour is 15 to 16
WEATHER, DAYS = 3.4, 2.5  # K, standard deviation of the weather; days it persists
GUST = 0.35  # K, hour-to-hour variation
DEW_BELOW = 3.0  # K, dew point below the night's lowest temperature


def waves(hour):
    """Return the annual and daily waves [degC] at each ``hour``, the same in every year."""
    season = np.cos(2 * np.pi * (hour / 24 - 199) / 365)
    daily = DAILY[0] + (DAILY[1] - DAILY[0]) * (1 + season) / 2
    return MEAN + YEARLY * season, daily * np.cos(2 * np.pi * (hour - 15.5) / 24)


def weather(rng):
    """Return temperature deviations [K] that persist for days: a first-order autoregression."""
    kept = np.exp(-1 / (24 * DAYS))
    shocks = rng.normal(size=HOURS) * WEATHER * np.sqrt(1 - kept**2)
    deviation = np.empty(HOURS)
    last = rng.normal() * WEATHER
    for hour, shock in enumerate(shocks):
        deviation[hour] = last = kept * last + shock
    return deviation


def year():
    """Return temperature [degC] and relative humidity [%] for each hour, as written to the file."""
    rng = np.random.default_rng(SEED)
    hour = np.arange(HOURS) + 0.5
    yearly, daily = waves(hour)
    slow = yearly + weather(rng)
    temp = np.round(slow + daily + GUST * rng.normal(size=HOURS), 1)
    dew = slow - np.interp(slow, [0.0, 30.0], DAILY) - DEW_BELOW
    humidity = saturation_pressure(np.minimum(dew, temp)) / saturation_pressure(temp)
    return temp, np.round(100 * np.minimum(humidity, 1.0)).astype(int)


def text() -> str:
    """Return the text of example-year.csv."""
    head = (
        f'place,"{PLACE}"',
        f"elevation [m],{ELEVATION:g}",
        "hour,temp outdoor [degC],relative humidity [%]",
    )
    rows = (f"{n},{t:.1f},{r}" for n, (t, r) in enumerate(zip(*year(), strict=True), 1))
    return "\n".join((*head, *rows)) + "\n"


if __name__ == "__main__":
    path = Path(__file__).parent / "weather" / "example-year.csv"
    path.write_text(text(), encoding="utf-8", newline="")
