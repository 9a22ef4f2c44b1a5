"""An offline, hands-free companion for dressing a floor loom by ear."""

__version__ = "0.1.0"
