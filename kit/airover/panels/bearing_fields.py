"""Choices in the bearing panel: position, balance, reliability, dirt, frost, quiet."""

from airover.physics.ball_bearing import CLEANLINESS

POSITIONS = [("shaft down", "down"), ("shaft up", "up"), ("horizontal", "horizontal")]
GRADES = [
    ("G 2.5", 2.5), ("G 6.3 new", 6.3), ("G 16 old", 16.0),
    ("G 40", 40.0), ("G 100", 100.0),
]  # fmt: skip
DISCHARGES = [("upwards", "up"), ("downwards", "down")]
RELIABILITIES = [
    ("50 %: half last longer", 0.50), ("90 % (L10)", 0.90), ("95 %", 0.95), ("99 %", 0.99),
]  # fmt: skip
STARTS = {"US": ("degF", -40, 68, 1), "SI": ("degC", -40, 20, 1)}  # coldest start
PLACE = {"quiet": "Noise matters", "rain": "Rain", "dust": "Dust", "salt": "Salt air"}
DIRT = [(name, name) for name in CLEANLINESS]
WARM, USUALLY_WARM = {"US": ("degF", 68, 300, 1), "SI": ("degC", 20, 150, 1)}, 70.0  # bearings
MOST_LOST = 30  # g
