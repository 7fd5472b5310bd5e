"""The core: parts, wires, logic and faults.  No clock, no files, no event kernel, no randomness but counted draws."""
