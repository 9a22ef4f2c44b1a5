"""Exact arithmetic from a plan to a dressed loom; no devices, no floats."""
