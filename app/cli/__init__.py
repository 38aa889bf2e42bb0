"""The command line: one module a group of commands, none of which opens a window."""
