"""What the panel of bearings asks: position, balance, dirt, what the user knows of such motors."""

from airover.physics.ball_bearing import CLEANLINESS

POSITIONS = [("shaft down", "down"), ("shaft up", "up"), ("horizontal", "horizontal")]
GRADES = [
    ("G 2.5", 2.5), ("G 6.3 new", 6.3), ("G 16 old", 16.0),
    ("G 40", 40.0), ("G 100", 100.0),
]  # fmt: skip
DISCHARGES = [("upwards", "up"), ("downwards", "down")]
RELIABILITIES = [("90 %", 0.90), ("95 %", 0.95), ("99 %", 0.99)]
DIRT = [(name, name) for name in CLEANLINESS]
WARM, USUALLY_WARM = {"US": ("degF", 68, 300, 1), "SI": ("degC", 20, 150, 1)}, 70.0  # bearings
MOST_LOST = 30  # g
KNOWN = (
    "If you know how long sleeve-bearing motors last in such a place, and how warm their bearings "
    "get, put both in: the band of sleeve bearings becomes narrower. 0 hours: not known."
)
