"""Renderers, one a file: results in, text or plain data out.  Nothing here reads files or decides a verdict."""
