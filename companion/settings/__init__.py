"""The weaver's settings: one small TOML file, read once and never changed behind their back."""

from companion.settings.change import describe, reset_value, set_value
from companion.settings.file import load, load_usable, save, settings_path
from companion.settings.schema import Settings
