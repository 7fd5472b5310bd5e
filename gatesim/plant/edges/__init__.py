"""The monitored edge, wire by wire: strip, loop, converter, scans."""
