"""Drafts in the open WIF 1.1 format: reading and writing."""
