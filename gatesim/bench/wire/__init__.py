"""A controller on a wire: gatesim is the plant as a Modbus TCP server, in real time."""
