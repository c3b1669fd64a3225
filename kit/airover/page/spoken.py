"""Names of the environment by which the server tells its kernels where a page begins."""

LANGUAGE, UNITS = "AIROVER_PAGE_LANGUAGE", "AIROVER_PAGE_UNITS"
SHARED = "AIROVER_PAGE_SHARED"  # not empty where other computers are served
AHEAD = "AIROVER_PAGE_AHEAD"  # not empty for a kernel that nobody waits for
