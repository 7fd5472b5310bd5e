"""Logic: the three replaceable roles, the reference for each, one a file."""
