"""Input records: nameplate, fan, site, catalog, readings and service calls."""
