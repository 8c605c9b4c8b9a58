"""For all tests: a property is not wrong because the machine was busy."""

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
