"""Callouts: from a message of the guide to what is printed and what is spoken.

Every sentence the weaver hears is in this package, in English, but for the words that a stage
brings with its steps; command words may be of another language.
"""

from companion.wording.general import break_reminder
from companion.wording.render import render
from companion.wording.voice import Style

__all__ = ["Style", "break_reminder", "render"]
