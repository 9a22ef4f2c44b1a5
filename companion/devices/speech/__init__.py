"""Words into sound: synthesis in a child process, the store of clips, and the voice."""

from companion.devices.speech.make import make_voice
from companion.devices.speech.voice import Item, Voice

__all__ = ["Item", "Voice", "make_voice"]
