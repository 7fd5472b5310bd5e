"""A controller that does nothing, and goes wrong in one way: `bad.py WAY`."""

import json
import os
import signal
import subprocess
import sys

way = sys.argv[1]
HELLO = {
    "silent at hello": '',
    "wrong version": '{"hello": {"gatesim-logic": 2, "name": "x"}}',
    "hello is no object": '{"hello": 1}',
    "no hello": '{}',
    "no name": '{"hello": {}}',
    "odd wants": '{"hello": {"name": "x", "wants": "often"}}',
    "odd snapshots": '{"hello": {"name": "x", "snapshots": "yes"}}',
    "refuses hello": '{"refused": "not me"}',
    "name is no text": '{"hello": {"name": 5}}',
    "wants scan": '{"hello": {"name": "x", "wants": "scan"}}',
    "not started anew": '{"hello": {"name": "x", "power_cycles": false}}',
    "takes snapshots": '{"hello": {"name": "x", "snapshots": true}}',
    "true version": '{"hello": {"gatesim-logic": true, "name": "x"}}',
}
STEP = {
    "no JSON": 'hello world',
    "an array": '[1]',
    "a number": '5',
    "null": 'null',
    "not a number": '{"do": {"watch": NaN}}',
    "infinite": '{"do": {"watch": Infinity}}',
    "too large a number": '{"do": {"watch": 1e999}}',
    "empty line": ' ',
    "half a line": '{"do": {',
    "deep": "[" * 200_000,
    "huge": '{"do": "' + "x" * 3_000_000 + '"}',
    "two lines": '{"do": {}}\n{"do": {}}',
    "refuses step": '{"refused": "no"}',
    "no do": '{}',
    "do is an array": '{"do": []}',
    "odd order": '{"do": {"order": "sideways"}}',
    "nearly an order": '{"do": {"order": "opning"}}',
    "one is not true": '{"do": {"main": 1}}',
    "half an ask": '{"do": {"ask": 1.5}}',
    "text to watch": '{"do": {"watch": "2 m"}}',
    "wake in the past": '{"do": {}, "wake": 0}',
    "half a wake": '{"do": {}, "wake": 99999999.5}',
    "wake in do": '{"do": {"wake": 5}}',
    "number to keep": '{"do": {}, "keep": 5}',
    "why is text": '{"do": {}, "why": "because"}',
    "odd notice": '{"do": {"notices": ["a"]}}',
    "odd lockout": '{"do": {"lockout": null}}',
    "two values": '{"do": {}} {"do": {}}',
    "odd brake": '{"do": {"brake": true}}',
}


def say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def wait() -> None:
    while True:
        signal.pause()


def goes_wrong(kind: str, given: object) -> None:
    """What some ways do before, or in the place of, answering a step."""
    if way == "silent":
        wait()
    elif way == "stops itself":
        os.kill(os.getpid(), signal.SIGSTOP)
    elif way == "begins a line":
        sys.stdout.write('{"do":')
        sys.stdout.flush()
        wait()
    elif way == "dies":
        raise RuntimeError("the fuse is blown")
    elif way == "exits":
        sys.exit(0)
    elif way == "crashes":
        os.kill(os.getpid(), signal.SIGSEGV)
    elif way == "closes its output":
        os.close(1)
        wait()
    elif way == "closes its input":
        os.close(0)
        say('{"do": {}}')
        wait()
    elif way == "floods":
        while True:
            os.write(1, b"x" * 65536)
    elif way == "no UTF-8":
        os.write(1, b'{"do": {"mode": "\xff\xfe"}}\n')
        wait()
    elif way == "zeros":
        os.write(1, b"\0\0\0\n")
        wait()
    elif way == "eats memory":
        held = [bytearray(1 << 28) for _ in range(64)]
        raise RuntimeError(str(len(held)))
    elif way == "leaves children":
        child = subprocess.Popen(["sleep", "1000"])
        sys.stderr.write(f"child {child.pid} of {os.getpid()}\n")
        sys.stderr.flush()
        wait()


if way == "banner":
    say("Welcome")
for line in sys.stdin:
    (kind, given), = json.loads(line).items()
    if kind == "hello":
        if way == "silent at hello":
            wait()
        if way == "dies at hello":
            sys.exit(7)
        say(HELLO.get(way, '{"hello": {"name": "bad"}}'))
    elif kind == "save" and way == "takes snapshots":
        say('{"ok": false}')
    elif kind in ("save", "back", "bye"):
        say('{"ok": true}')
    elif kind == "start":
        say('{"do": {}}')
    else:
        goes_wrong(kind, given)
        if way == "by chance":
            say(json.dumps({"do": {"mode": str(os.getpid())}, "wake": given["now"] + 1_000_000}))
        elif way == "in circles":
            say(json.dumps({"do": {}, "wake": given["now"] + 1}))
        elif way == "talks on stderr":
            sys.stderr.write("noise " * 20_000 + "\n")
            say('{"do": {}}')
        elif way == "unknown members":
            say('{"do": {"colour": "red"}, "mood": [1, {}], "wake": null}\r')
        else:
            say(STEP.get(way, '{"do": {}}'))
