"""Words and keys to commands: one table serves voice, keys and pedal."""

from companion.command.command import LANGUAGES, Command, Kind, NotACommandError, parse, spoken_form
