"""Words into sound: synthesis in a child process, the store of clips, and the voice."""

from companion.audio.tones import ToneName
from companion.speech.make import make_voice
from companion.speech.voice import Item, SilentVoice, Voice, VoiceSettings

__all__ = ["Item", "SilentVoice", "ToneName", "Voice", "VoiceSettings", "make_voice"]
