"""The plan on paper and for a plain player: large print, HTML, braille and an audio book.

One pure model of the sheets stands behind every writer, so that all of them say the same.
"""
