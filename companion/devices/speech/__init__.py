"""Words into sound: synthesis in a child process, the store of clips, and the voice."""

from companion.devices.speech.make import make_voice
from companion.devices.speech.voice import Item, SilentVoice, Voice, VoiceSettings

__all__ = ["Item", "SilentVoice", "Voice", "VoiceSettings", "make_voice"]
