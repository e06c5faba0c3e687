from hypothesis import settings

# Time is measured in the benchmarks only; a slow machine is no failed test.
settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")
