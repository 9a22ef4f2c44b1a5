"""Pictures of a draft: threading, tie-up, treadling and drawdown, each with the same in words."""
