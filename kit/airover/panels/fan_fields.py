"""What the panel of a blade asks: its curve, and the system that it blows through."""

CURVE = {"Curve": {"speed": "1075 rpm", "density": "0.075 lb/ft3"}}
MEASURED = {
    "Measured": {"airflow": "2400 cfm", "pressure": "0.2 in. w.g.", "density": "0.075 lb/ft3"}
}
LOSSES = {
    "Losses": {
        "airflow": "2400 cfm", "coil": "0.14 in. w.g.", "others": "0.06 in. w.g.",
        "density": "0.075 lb/ft3",
    }
}  # fmt: skip
POINT, PARTS, AIRFLOW, PLATE = "measured", "losses", "airflow", "plate"
SYSTEMS = [
    ("measured: one point", POINT),
    ("losses of coil and the rest", PARTS),
    ("from the job's airflow", AIRFLOW),
    ("not known: the plate's power", PLATE),
]
SPEEDS = [("1075 rpm", 1075), ("825 rpm", 825), ("another", 0)]
