"""What every room may use: errors, numerals, text, files."""
