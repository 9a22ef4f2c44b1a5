"""Words and keys to commands: one table serves voice, keys and pedal."""

from companion.command.command import (
    LANGUAGES,
    Command,
    Kind,
    NotACommandError,
    not_a_command,
    parse,
    parsed,
    quoted,
    spoken_form,
)
