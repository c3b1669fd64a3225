"""Changed blades against blade-element momentum theory, solved here."""

import numpy as np
import pytest
from scipy.optimize import brentq

from airover.physics.fan import changed_fan

SOURCE = (
    "blade-element momentum theory (Leishman, Principles of Helicopter Aerodynamics, ch. 3, from"
    " memory, not verified), solved with SciPy brentq in this test"
)


def thrust(solidity, lift_slope, pitch):
    """Thrust coefficient of a rotor in uniform inflow."""

    def excess(c):
        return solidity * lift_slope / 2 * (pitch / 3 - np.sqrt(c / 2) / 2) - c

    return brentq(excess, 1e-12, 2.0)


ROTORS = [(s, a, np.radians(p)) for s in (0.15, 0.3, 0.5) for a in (4, 6) for p in (15, 25, 35)]


def ratios(solidity_ratio, pitch_change):
    """Thrust over thrust before, for all rotors of the stated range."""
    return np.array(
        [thrust(s * solidity_ratio, a, p + pitch_change) / thrust(s, a, p) for s, a, p in ROTORS]
    )


@pytest.mark.parametrize(
    ("item", "old", "new", "change"),
    [
        ("3 to 4 blades", 3, 4, 0.0),
        ("4 to 3 blades", 4, 3, 0.0),
        ("2 deg more pitch", 3, 3, np.radians(2)),
        ("3 to 4 blades, 2 deg more pitch", 3, 4, np.radians(2)),
        ("4 to 3 blades, 2 deg less pitch", 4, 3, np.radians(-2)),
    ],
)
def test_the_theory_lies_within_the_band(book, item, old, new, change):
    more = ratios(new / old, change)
    # on the same system pressure goes with the square of flow, as thrust does
    for theory, band, whole in (
        (np.sqrt(more), "flow", 1.0),
        (more, "pressure", 40.0),
        (more**1.5, "power", 200.0),
    ):
        ours = [
            getattr(changed_fan(1.0, 40.0, 200.0, old, new, p, p + change), band)
            for _, _, p in ROTORS
        ]
        low, mid, high = np.array(ours).T / whole
        assert np.all((low <= theory) & (theory <= high))
        # the middle is rounded to a tenth in the exponent: 3 % of a change of a third
        book.agrees(
            f"{band} ratio, {item}, median of {len(ROTORS)} rotors",
            np.median(mid), np.median(theory), within=0.03, source=SOURCE,
            road=("fan", f"{band}, median"),
        )  # fmt: skip


@pytest.mark.parametrize(
    ("item", "new", "change"), [("blades", 4, 0.0), ("pitch", 3, np.radians(1))]
)
def test_the_ends_of_the_band_as_exponents(book, item, new, change):
    """The band is wider than the theory, by a judgement that has no source, but not much wider."""
    exponents = np.log(ratios(new / 3, change))
    pitches = np.array([pitch for *_, pitch in ROTORS])
    exponents /= np.log(new / 3) if item == "blades" else np.log1p(change / pitches)
    for name, power_of_thrust in (("flow", 0.5), ("power", 1.5)):
        pitch = pitches[0]
        band = getattr(changed_fan(1.0, 1.0, 1.0, 3, new, pitch, pitch + change), name)
        step = np.log(new / 3) if item == "blades" else np.log1p(change / pitch)
        ends = power_of_thrust * np.array([exponents.min(), exponents.max()])
        for end, ours, theirs in zip(("smallest", "largest"), np.log([band.low, band.high]), ends):
            book.agrees(
                f"{end} exponent of {name} over {item}",
                ours / step, theirs, within=0.3, source=SOURCE,
            )  # fmt: skip
