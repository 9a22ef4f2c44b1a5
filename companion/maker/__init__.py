"""The plan maker: one table of questions, asked in a terminal or shown as a form."""
