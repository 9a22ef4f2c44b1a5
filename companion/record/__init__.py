"""The record of each session: one SQLite file, a command committed before it is spoken."""

from companion.record.entry import Entry, EntryKind, Source
from companion.record.journal import Journal
from companion.record.listing import Summary, default_folder, find, read_whole, sessions, worked
from companion.record.shelf import AWAY, put_away, rescue, take_out
