"""Real and made-up troubles with what they turned out to be, and what the program makes of them."""
