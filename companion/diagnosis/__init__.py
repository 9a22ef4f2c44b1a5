"""From what the weaver reports to the likely slips, what they do to the cloth, and the mends."""
