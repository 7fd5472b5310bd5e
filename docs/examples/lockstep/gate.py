"""A small gate controller in Python, played in lock-step: gatesim check FILE --controller 'run:python3 gate.py'

Opens, closes and stops; asks the devices that guard a direction before it starts; stops and reverses when one of them
is pressed or faulty; locks everything when a second demand comes before the movement was completed; a reset, pressed
and released, clears a lockout.  An example of the protocol and no controller for a gate: hold-to-run, automatic
closing, the read-back of the contactors and much else are missing, and gatesim shows what.
"""

import json
import sys

OTHER = {"opening": "closing", "closing": "opening"}
WAYS = {"open": "opening", "close": "closing"}
QUIET = ("at rest", "pressed", "interrupted")
state = {}
saved = {}
settings = {}


def power_up(kept):
    """Everything as after a power loss; the lockout is what was kept."""
    state.clear()
    state.update(
        mode="at rest", way=None, order=None, main=False, brake="hold", alarm=False, lockout=kept or "none", ask=0,
        until=None, alarm_until=None, target=None, begun_at=0, interrupted=None, served=False, second=False,
        reverse=False, reset_at=None, notices=[], held=[], control=None, seen={"reports": []}, told={}, refused=[])
    if state["lockout"] != "none":
        state["alarm"] = True


def guards(way):
    """The reports of what guards a direction."""
    names = [edge["edge"] for edge in settings["edges"] if edge["direction"] == way]
    return [report for report in state["seen"]["reports"] if report["edge"] in names]


def faulty(way):
    for report in guards(way):
        if not report["heard"] or not report["fresh"] or report["critical"] or report["level"] not in QUIET:
            return report["edge"]
    return None


def pressed(way):
    for report in guards(way):
        if report["fresh"] and report["level"] in ("pressed", "interrupted"):
            return report["edge"]
    return None


def lock(what):
    """Two directions locked are both; what is worse stays."""
    have = state["lockout"]
    if have in OTHER and what == OTHER[have]:
        what = "both directions"
    if have not in ("entrapment", "drive") and not (have == "both directions" and what in OTHER):
        state["lockout"] = what
    state["alarm"] = True
    state["alarm_until"] = None


def bars(way):
    return state["lockout"] != "none" and state["lockout"] != OTHER[way]


def stop(reverse=False):
    state.update(order=None, mode="stopping", until=state["now"] + settings["stop_limit"], reverse=reverse, target=None)


def begin(control, way, seen):
    """Ask the devices before a start; refuse it at once where they are not in order."""
    state["control"] = control
    why = ("locked out", "") if bars(way) else why_not(way, seen)
    if why:
        refuse(*why)
    elif not seen["at_open" if way == "opening" else "at_closed"]:
        state.update(mode="testing", way=way, ask=state["ask"] + 1, until=state["now"] + settings["test_time"])


def why_not(way, seen):
    """Why the leaf must not start this way, and which device says so; None where it may."""
    if faulty(way) or pressed(way):
        return "not in order", faulty(way) or pressed(way)
    return None if seen["force_ready"] and not seen["force"] else ("not ready", "force sensing")


def refuse(why, device):
    state["refused"].append([*state["control"], why, device])
    state.update(mode="at rest", until=None)


def demand():
    """Something is in the way; the second time before the movement was completed everything is locked."""
    relieving, state["second"] = state["second"], state["interrupted"] is not None
    if state["second"]:
        lock("entrapment")
    state["interrupted"] = state["interrupted"] or state["way"]
    state["served"] = True
    far = settings["second_demand_relief"] if state["second"] else 1
    stop(reverse=far > 0 and not relieving)


def on_the_way(seen):
    """Moving by a command, or back after a demand."""
    now, way, back = state["now"], state["way"], state["mode"] == "reversing"
    sign = 1 if way == "opening" else -1
    if not seen["force"]:
        state["served"] = False
    if pressed(way) or (seen["force"] and not state["served"]):
        demand()
    elif faulty(way) or not seen["force_ready"]:
        lock(way)
        stop(reverse=not back and not faulty(OTHER[way]) and seen["force_ready"])
    elif seen["at_open" if way == "opening" else "at_closed"]:
        if settings["count_cleared_at_any_end"] or state["interrupted"] == way:
            state["interrupted"] = None
        stop()
    elif back and (seen["position"] - state["target"]) * sign >= 0:
        stop()
    elif now >= state["until"]:
        lock("drive")
        stop()


def standing(seen):
    """The leaf was told to stop: wait until it stands, then go back, lock or rest."""
    if seen["motion"] is not None:
        if state["now"] >= state["until"]:
            lock("drive")
            state.update(mode="locked out", main=False, brake="release", until=None)
    elif state["reverse"]:
        state.update(mode="waiting to reverse", until=state["now"] + settings["reversal_dwell"], reverse=False)
    else:
        locked = state["lockout"] in ("entrapment", "drive")
        state.update(mode="locked out" if locked else "at rest", main=False, brake="release" if locked else "hold",
                     until=None, second=False)


def go_back(seen):
    way = OTHER[state["way"]]
    far = settings["reversal_distance"] if way == "opening" else settings["opening_relief"]
    if state["second"]:
        far = min(settings["second_demand_relief"], abs(seen["position"] - state["begun_at"]) / 2)
    if way == "closing" and seen["position_known"]:
        far = min(far, seen["position"] / 2)
    if pressed(way):
        lock("entrapment")
        state.update(mode="locked out", main=False, brake="release", until=None)
        return
    state.update(target=seen["position"] + (far if way == "opening" else -far))
    go("reversing", way, seen)


def go(mode, way, seen):
    state.update(mode=mode, way=way, order=way, main=True, begun_at=seen["position"],
                 until=state["now"] + settings["travel_time_" + way])
    state["notices"] += [["battery low", report["edge"]] for report in state["seen"]["reports"] if report["low"]]


def buttons(seen):
    """What was pressed and released since the last call."""
    held, before = seen["controls"], state["held"]
    new = [one for one in held if one not in before]
    gone = [one for one in before if one not in held]
    state["held"] = held
    reset = ["reset", "wired in view"]
    if reset in new:
        state["reset_at"] = state["now"]
    if reset in gone and state["reset_at"] is not None:
        in_time = state["now"] - state["reset_at"] <= settings["reset_window"]
        if in_time and state["mode"] in ("at rest", "locked out") and not faulty("opening") and not faulty("closing"):
            state.update(lockout="none", alarm=False, alarm_until=None, interrupted=None, mode="at rest", brake="hold")
        state["reset_at"] = None
    if any(command == "silence" for command, _ in new):
        state["alarm"] = False
    return new, any(command == "stop" for command, _ in held)


def note_faults(moving):
    """A fault locks its direction, in every phase; a device that is only silent does so in motion."""
    for way in OTHER:
        for report in guards(way):
            bad = report["critical"] or report["level"] not in QUIET
            if report["heard"] and (bad if report["fresh"] else moving) and not bars(way):
                lock(way)


def step(seen):
    asked, stopped = buttons(seen)
    mode = state["mode"]
    note_faults(mode in ("moving", "reversing"))
    if mode in ("moving", "reversing"):
        other = "open" if state["way"] == "closing" else "close"
        if stopped or (mode == "moving" and any(command == other for command, _ in asked)):
            stop()
        else:
            on_the_way(seen)
    elif mode == "testing":
        answered = all(not one["asked"] or one["answered"] >= state["ask"] for one in guards(state["way"]))
        why = ("stopped", "") if stopped else ("locked out", "") if bars(state["way"]) else why_not(state["way"], seen)
        if why is None and not answered and state["now"] >= state["until"]:
            why = ("no answer to the test", "")
        if why:
            refuse(*why)
        elif answered:
            go("moving", state["way"], seen)
    elif mode == "stopping":
        standing(seen)
    elif mode == "waiting to reverse" and state["now"] >= state["until"]:
        if stopped:
            state.update(mode="at rest", main=False, until=None)
        else:
            go_back(seen)
    elif mode == "at rest" and not stopped:
        for control in asked:
            if control[0] in WAYS and state["mode"] == "at rest":
                begin(control, WAYS[control[0]], seen)
    if state["alarm"] and state["alarm_until"] is None:
        state["alarm_until"] = state["now"] + settings["alarm_time"]
    if state["alarm_until"] is not None and state["now"] >= state["alarm_until"]:
        state["alarm"] = False


def answer():
    """The outputs that changed since they were last told."""
    now = {name: state[name] for name in ("order", "main", "brake", "alarm", "lockout", "mode", "ask")}
    now["slow"] = state["order"] is not None and not state["seen"].get("position_known", False)
    now["watch"] = state["target"] if state["mode"] == "reversing" else None
    told = {name: value for name, value in now.items() if name not in state["told"] or state["told"][name] != value}
    state["told"] = now
    times = [state["until"], state["alarm_until"] if state["alarm"] else None]
    ahead = [time for time in times if time is not None and time > state["now"]]
    for name in ("refused", "notices"):  # what happened is told once
        if state[name]:
            told[name], state[name] = state[name], []
    keep = None if state["lockout"] == "none" else state["lockout"]
    return {"do": told, "wake": min(ahead, default=None), "keep": keep}


def learn(seen):
    """Take over what changed; of the reports, those that are given."""
    reports = {report["edge"]: report for report in seen.pop("reports", [])}
    state["seen"].update(seen)
    old = state["seen"]["reports"]
    state["seen"]["reports"] = [reports.pop(one["edge"], one) for one in old] + list(reports.values())


def serve(request):
    (kind, given), = request.items()
    if kind == "hello":
        settings.update(given["settings"])
        return {"hello": {"gatesim-logic": 1, "name": "small gate in Python", "snapshots": True, "wants": "change"}}
    if kind == "start":
        power_up(given["kept"])
        state["now"] = 0
        return answer()
    if kind == "step":
        state["now"] = given["now"]
        learn(given["seen"])
        step(state["seen"])
        return answer()
    if kind == "save":
        saved[given] = json.dumps(state)
        return {"ok": True}
    if kind == "back":
        state.clear()
        state.update(json.loads(saved[given]))
        return {"ok": True}
    return {"ok": True} if kind == "bye" else {"refused": "there is no such request"}


for line in sys.stdin:
    sys.stdout.write(json.dumps(serve(json.loads(line))) + "\n")
    sys.stdout.flush()
    if "bye" in line[:8]:
        break
