"""What every test can rely on."""

from hypothesis import settings

settings.register_profile("kit", deadline=None, print_blob=True)
settings.load_profile("kit")
