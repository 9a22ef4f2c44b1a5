"""Sound as values and devices: clips, tones, WAV files, and the loudspeaker."""
