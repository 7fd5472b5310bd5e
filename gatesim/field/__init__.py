"""Planning and recording a site: from a `Site` to what the gate technician takes to the gate.  Nothing runs here."""
