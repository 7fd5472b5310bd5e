"""The command line: one command a file in `commands/`; nothing heavy is imported before a command needs it."""
