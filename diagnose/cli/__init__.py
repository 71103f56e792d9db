"""Commands, options and exit codes."""
