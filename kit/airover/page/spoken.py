"""Names of the environment by which the server tells its kernels where a page begins."""

LANGUAGE, UNITS = "AIROVER_PAGE_LANGUAGE", "AIROVER_PAGE_UNITS"
