"""A score shown: the engraved page, a map of time drawn, a file to hear."""
