"""Reports as one HTML file each: a run, a check, a sweep."""
