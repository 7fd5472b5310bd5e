"""The commands, one a file, found by their file name; each file ends with `COMMAND`."""
