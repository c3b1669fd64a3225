"""The words that fields of a few choices accept, each with other spellings of the trade."""

MOUNTINGS = {
    "shell holes": ("shell hole", "shell mount"),
    "through-bolts": ("through bolt", "thru bolts", "thru bolt", "studs", "stud mount"),
    "belly band": ("band", "band mount"),
    "bracket": (),
    "base": ("rigid base", "resilient base", "cradle"),
}
SHAFT_POSITIONS = {
    "up": ("shaft up", "vertical up", "vertical shaft up"),
    "down": ("shaft down", "vertical down", "vertical shaft down"),
    "horizontal": ("shaft horizontal", "horizontal shaft"),
}
ENCLOSURES = {
    "totally enclosed air over": ("teao", "enclosed air over"),
    "open air over": ("oao", "open", "air over open"),
    "totally enclosed nonventilated": ("tenv", "totally enclosed non ventilated"),
    "totally enclosed fan cooled": ("tefc",),
    "open drip proof": ("odp", "drip proof"),
    "explosion proof": ("xp", "explosionproof"),
}
CLASSES = {name: (f"class {name}",) for name in "ABFH"}
BEARINGS = {
    "sleeve": ("sleeve bearing", "sleeve bearings"),
    "ball": ("ball bearing", "ball bearings"),
}
DRAIN_PLUGS = {
    "both ends": ("both",),
    "shaft end": ("shaft",),
    "lead end": ("lead",),
    "none": ("no",),
}
EXPOSURES = {
    "rain": ("wet",),
    "salt": ("salt air", "coastal", "sea", "seaside"),
    "dust": ("dusty", "sand"),
}
PROTECTORS = {
    "automatic thermal": ("automatic", "auto", "thermal", "yes"),
    "none": ("no",),
}
