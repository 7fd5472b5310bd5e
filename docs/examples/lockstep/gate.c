/* The small gate controller of gate.py in C: cc -O2 -o gate gate.c; gatesim check FILE --controller run:./gate
 *
 * The same rules, so the same verdicts.  All that it remembers is one struct, so a snapshot is a copy of it.  An example
 * of the protocol and no controller for a gate. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- a small JSON reader: a line becomes a tree of nodes; strings stay in the line, unescaped in place ------------- */

enum kind { NUL, FALSE_, TRUE_, NUMBER, TEXT, ARRAY, OBJECT };
struct node { enum kind kind; double number; char *text, *key; int child, next; };

static struct node nodes[8192];
static int used;
static char *at;

static void die(const char *why) { fprintf(stderr, "gate: %s\n", why); exit(1); }
static void space(void) { while (*at == ' ' || *at == '\t' || *at == '\r' || *at == '\n') at++; }

static char *text(void)
{
    char *start = ++at, *to = start;
    while (*at != '"') {
        if (!*at) die("a string does not end");
        if (*at != '\\') { *to++ = *at++; continue; }
        at++;
        if (*at == 'u') { /* names outside ASCII come as they are, so this is a control character */
            char digits[5] = { 0 };
            for (int k = 0; k < 4; k++) if (!(digits[k] = at[k + 1])) die("an escape does not end");
            *to++ = (char)strtol(digits, NULL, 16);
            at += 5;
        } else {
            const char *from = "bfnrt", *into = "\b\f\n\r\t", *found = *at ? strchr(from, *at) : NULL;
            *to++ = found ? into[found - from] : *at;
            if (*at) at++;
        }
    }
    at++;
    *to = 0;
    return start;
}

static int value(void)
{
    if (used == (int)(sizeof nodes / sizeof *nodes)) die("too large a line");
    int me = used++, last = 0;
    struct node *one = &nodes[me];
    memset(one, 0, sizeof *one);
    space();
    if (*at == '{' || *at == '[') {
        char ends = *at == '{' ? '}' : ']';
        one->kind = *at++ == '{' ? OBJECT : ARRAY;
        for (space(); *at != ends; space()) {
            char *key = NULL;
            if (ends == '}') { if (*at != '"') die("a key is missing"); key = text(); space(); if (*at++ != ':') die("no colon"); }
            int child = value();
            nodes[child].key = key;
            if (last) nodes[last].next = child; else nodes[me].child = child;
            last = child;
            space();
            if (*at == ',') at++; else if (*at != ends) die("no JSON");
        }
        at++;
    } else if (*at == '"') {
        one->kind = TEXT;
        one->text = text();
    } else if (!strncmp(at, "true", 4)) { one->kind = TRUE_; at += 4; }
    else if (!strncmp(at, "false", 5)) { one->kind = FALSE_; at += 5; }
    else if (!strncmp(at, "null", 4)) at += 4;
    else {
        char *end;
        one->kind = NUMBER;
        one->number = strtod(at, &end);
        if (end == at) die("no JSON");
        at = end;
    }
    return me;
}

static int get(int object, const char *key)
{
    for (int k = nodes[object].child; k; k = nodes[k].next) if (nodes[k].key && !strcmp(nodes[k].key, key)) return k;
    return 0; /* node 0 is the line itself, never a member */
}

static double number(int object, const char *key) { int k = get(object, key); if (!k) die(key); return nodes[k].number; }
static void take_bool(int object, const char *key, bool *to) { int k = get(object, key); if (k) *to = nodes[k].kind == TRUE_; }

/* --- what is known and remembered ---------------------------------------------------------------------------------- */

enum { NONE = -1, OPENING, CLOSING };
enum mode { REST, TESTING, MOVING, STOPPING, WAITING, REVERSING, LOCKED };
enum lockout { FREE, LOCK_OPENING, LOCK_CLOSING, LOCK_BOTH, ENTRAPMENT, DRIVE };
static const char *WAY[] = { "opening", "closing" };
static const char *MODE[] = { "at rest", "testing", "moving", "stopping", "waiting to reverse", "reversing", "locked out" };
static const char *LOCKOUT[] = { "none", "opening", "closing", "both directions", "entrapment", "drive" };
enum { MANY = 16, LONG = 128, SAVES = 32 };
#define NEVER (-1.0)

static struct {
    int edges, direction[MANY];
    char edge[MANY][LONG];
    double stop_limit, test_time, reversal_dwell, reset_window, alarm_time, travel_time[2], reversal_distance, opening_relief;
    double second_demand_relief;
    bool cleared_at_any_end;
} set;

struct report { char level[20]; bool heard, fresh, low, critical, asked; double answered; };
struct control { char command[20], origin[20]; };
struct outputs { int order; bool main, release, alarm, slow; enum lockout lockout; enum mode mode; double ask, watch; bool watched; };

static struct memory {
    enum mode mode;
    int way, order, interrupted, motion;
    bool main, release, alarm, served, second, reverse, told_once, has_target;
    enum lockout lockout;
    double now, ask, until, alarm_until, target, begun_at, reset_at, position;
    bool at_closed, at_open, force, force_ready, position_known;
    struct report report[MANY]; /* in the order of the settings */
    int controls, before;
    struct control control[MANY], held[MANY], asked;
    struct outputs told;
} s, saved[SAVES];

static char happened[4096]; /* refused and notices of this call, as JSON */
static char notices[2048];

static void quoted(char *to, size_t room, const char *from)
{
    size_t n = strlen(to);
    if (n + 2 < room) to[n++] = '"';
    for (; *from && n + 8 < room; from++) {
        unsigned char c = (unsigned char)*from;
        if (c < 32) n += (size_t)sprintf(to + n, "\\u%04x", c);
        else { if (c == '"' || c == '\\') to[n++] = '\\'; to[n++] = (char)c; }
    }
    to[n++] = '"';
    to[n] = 0;
}

static bool quiet(const struct report *r)
{
    return !strcmp(r->level, "at rest") || !strcmp(r->level, "pressed") || !strcmp(r->level, "interrupted");
}

static int faulty(int way)
{
    for (int k = 0; k < set.edges; k++) {
        const struct report *r = &s.report[k];
        if (set.direction[k] == way && (!r->heard || !r->fresh || r->critical || !quiet(r))) return k;
    }
    return NONE;
}

static int pressed(int way)
{
    for (int k = 0; k < set.edges; k++) {
        const struct report *r = &s.report[k];
        if (set.direction[k] == way && r->fresh && (!strcmp(r->level, "pressed") || !strcmp(r->level, "interrupted"))) return k;
    }
    return NONE;
}

static bool full(void) { return s.lockout == ENTRAPMENT || s.lockout == DRIVE; }
static bool bars(int way) { return s.lockout != FREE && s.lockout != (enum lockout)(LOCK_OPENING + !way); }
static bool at_end(int way) { return way == OPENING ? s.at_open : s.at_closed; }

static void lock(enum lockout what)
{
    bool one = what == LOCK_OPENING || what == LOCK_CLOSING;
    if (one && s.lockout == (what == LOCK_OPENING ? LOCK_CLOSING : LOCK_OPENING)) what = LOCK_BOTH;
    if (!full() && !(s.lockout == LOCK_BOTH && one)) s.lockout = what;
    s.alarm = true;
    s.alarm_until = NEVER;
}

static void locked_out(void) { s.mode = LOCKED; s.main = false; s.release = true; s.until = NEVER; }

static void stop(bool reverse)
{
    s.order = NONE;
    s.mode = STOPPING;
    s.until = s.now + set.stop_limit;
    s.reverse = reverse;
    s.has_target = false;
}

static void refuse(const char *why, const char *device)
{
    const char *parts[] = { s.asked.command, s.asked.origin, why, device };
    strcat(happened, *happened ? ",[" : "[");
    for (int k = 0; k < 4; k++) { if (k) strcat(happened, ","); quoted(happened, sizeof happened - 400, parts[k]); }
    strcat(happened, "]");
    s.mode = REST;
    s.until = NEVER;
}

static const char *why_not(int way, const char **device)
{
    int k = faulty(way) != NONE ? faulty(way) : pressed(way);
    *device = k != NONE ? set.edge[k] : "force sensing";
    if (k != NONE) return "not in order";
    return s.force_ready && !s.force ? NULL : "not ready";
}

static void begin(int way)
{
    const char *device = "", *why = bars(way) ? "locked out" : why_not(way, &device);
    if (why) refuse(why, bars(way) ? "" : device);
    else if (!at_end(way)) { s.mode = TESTING; s.way = way; s.ask++; s.until = s.now + set.test_time; }
}

static void go(enum mode mode, int way)
{
    s.mode = mode;
    s.way = s.order = way;
    s.main = true;
    s.begun_at = s.position;
    s.until = s.now + set.travel_time[way];
    for (int k = 0; k < set.edges; k++) {
        if (!s.report[k].low) continue;
        strcat(notices, *notices ? ",[\"battery low\"," : "[\"battery low\",");
        quoted(notices, sizeof notices - 200, set.edge[k]);
        strcat(notices, "]");
    }
}

static void demand(void)
{
    bool relieving = s.second;
    s.second = s.interrupted != NONE;
    if (s.second) lock(ENTRAPMENT);
    else s.interrupted = s.way;
    s.served = true;
    stop((s.second ? set.second_demand_relief : 1) > 0 && !relieving);
}

static void on_the_way(void)
{
    int way = s.way, sign = way == OPENING ? 1 : -1;
    bool back = s.mode == REVERSING;
    if (!s.force) s.served = false;
    if (pressed(way) != NONE || (s.force && !s.served)) demand();
    else if (faulty(way) != NONE || !s.force_ready) {
        lock((enum lockout)(LOCK_OPENING + way));
        stop(!back && faulty(!way) == NONE && s.force_ready);
    } else if (at_end(way)) {
        if (set.cleared_at_any_end || s.interrupted == way) s.interrupted = NONE;
        stop(false);
    } else if (back && (s.position - s.target) * sign >= 0) stop(false);
    else if (s.now >= s.until) { lock(DRIVE); stop(false); }
}

static void standing(void)
{
    if (s.motion != NONE) {
        if (s.now >= s.until) { lock(DRIVE); locked_out(); }
    } else if (s.reverse) {
        s.mode = WAITING;
        s.until = s.now + set.reversal_dwell;
        s.reverse = false;
    } else {
        s.second = false;
        if (full()) locked_out();
        else { s.mode = REST; s.main = s.release = false; s.until = NEVER; }
    }
}

static void go_back(void)
{
    int way = !s.way;
    double far = way == OPENING ? set.reversal_distance : set.opening_relief;
    if (s.second) far = fmin(set.second_demand_relief, fabs(s.position - s.begun_at) / 2);
    if (way == CLOSING && s.position_known) far = fmin(far, s.position / 2);
    if (pressed(way) != NONE) { lock(ENTRAPMENT); locked_out(); return; }
    s.target = s.position + (way == OPENING ? far : -far);
    s.has_target = true;
    go(REVERSING, way);
}

static bool among(const struct control *list, int count, const struct control *one)
{
    for (int k = 0; k < count; k++)
        if (!strcmp(list[k].command, one->command) && !strcmp(list[k].origin, one->origin)) return true;
    return false;
}

/* The controls that are newly pressed; whether a stop is held. */
static int buttons(struct control *fresh, bool *stopped)
{
    static const struct control reset = { "reset", "wired in view" };
    int count = 0;
    *stopped = false;
    for (int k = 0; k < s.controls; k++) {
        if (!strcmp(s.control[k].command, "stop")) *stopped = true;
        if (!among(s.held, s.before, &s.control[k])) fresh[count++] = s.control[k];
    }
    bool gone = among(s.held, s.before, &reset) && !among(s.control, s.controls, &reset);
    memcpy(s.held, s.control, sizeof s.held);
    s.before = s.controls;
    if (among(fresh, count, &reset)) s.reset_at = s.now;
    if (gone && s.reset_at != NEVER) {
        bool in_time = s.now - s.reset_at <= set.reset_window, still = s.mode == REST || s.mode == LOCKED;
        if (in_time && still && faulty(OPENING) == NONE && faulty(CLOSING) == NONE) {
            s.lockout = FREE;
            s.alarm = s.release = false;
            s.alarm_until = NEVER;
            s.interrupted = NONE;
            s.mode = REST;
        }
        s.reset_at = NEVER;
    }
    for (int k = 0; k < count; k++) if (!strcmp(fresh[k].command, "silence")) s.alarm = false;
    return count;
}

static void note_faults(bool moving)
{
    for (int way = OPENING; way <= CLOSING; way++)
        for (int k = 0; k < set.edges; k++) {
            const struct report *r = &s.report[k];
            bool bad = r->critical || !quiet(r);
            if (set.direction[k] == way && r->heard && (r->fresh ? bad : moving) && !bars(way))
                lock((enum lockout)(LOCK_OPENING + way));
        }
}

static void testing(bool stopped)
{
    const char *device = "", *why = stopped ? "stopped" : bars(s.way) ? "locked out" : why_not(s.way, &device);
    bool answered = true;
    if (stopped || bars(s.way)) device = "";
    for (int k = 0; k < set.edges; k++)
        if (set.direction[k] == s.way && s.report[k].asked && s.report[k].answered < s.ask) answered = false;
    if (!why && !answered && s.now >= s.until) { why = "no answer to the test"; device = ""; }
    if (why) refuse(why, device);
    else if (answered) go(MOVING, s.way);
}

static void step(void)
{
    struct control fresh[MANY];
    bool stopped, moving = s.mode == MOVING || s.mode == REVERSING;
    int count = buttons(fresh, &stopped);
    moving = s.mode == MOVING || s.mode == REVERSING;
    enum mode mode = s.mode;
    note_faults(moving);
    if (moving) {
        bool other = false;
        for (int k = 0; k < count; k++)
            if (!strcmp(fresh[k].command, s.way == CLOSING ? "open" : "close")) other = true;
        if (stopped || (mode == MOVING && other)) stop(false);
        else on_the_way();
    } else if (mode == TESTING) testing(stopped);
    else if (mode == STOPPING) standing();
    else if (mode == WAITING && s.now >= s.until) {
        if (stopped) { s.mode = REST; s.main = false; s.until = NEVER; }
        else go_back();
    } else if (mode == REST && !stopped) {
        for (int k = 0; k < count; k++) {
            bool open = !strcmp(fresh[k].command, "open");
            if (s.mode != REST || (!open && strcmp(fresh[k].command, "close"))) continue;
            s.asked = fresh[k];
            begin(open ? OPENING : CLOSING);
        }
    }
    if (s.alarm && s.alarm_until == NEVER) s.alarm_until = s.now + set.alarm_time;
    if (s.alarm_until != NEVER && s.now >= s.alarm_until) s.alarm = false;
}

/* --- the protocol --------------------------------------------------------------------------------------------------- */

static int way_of(int node) { return nodes[node].kind != TEXT ? NONE : !strcmp(nodes[node].text, "closing"); }

static void copy(char *to, size_t room, const char *from) { if (strlen(from) >= room) die("too long a name"); strcpy(to, from); }

static void learn_settings(int given)
{
    set.edges = 0;
    for (int k = nodes[get(given, "edges")].child; k; k = nodes[k].next) {
        if (set.edges == MANY) die("too many edges");
        copy(set.edge[set.edges], LONG, nodes[get(k, "edge")].text);
        set.direction[set.edges++] = way_of(get(k, "direction"));
    }
    set.stop_limit = number(given, "stop_limit");
    set.test_time = number(given, "test_time");
    set.reversal_dwell = number(given, "reversal_dwell");
    set.reset_window = number(given, "reset_window");
    set.alarm_time = number(given, "alarm_time");
    set.travel_time[OPENING] = number(given, "travel_time_opening");
    set.travel_time[CLOSING] = number(given, "travel_time_closing");
    set.reversal_distance = number(given, "reversal_distance");
    set.opening_relief = number(given, "opening_relief");
    set.second_demand_relief = number(given, "second_demand_relief");
    take_bool(given, "count_cleared_at_any_end", &set.cleared_at_any_end);
}

static void power_up(int kept)
{
    memset(&s, 0, sizeof s);
    s.way = s.order = s.interrupted = s.motion = NONE;
    s.until = s.alarm_until = s.reset_at = NEVER;
    if (nodes[kept].kind == TEXT) {
        s.alarm = true;
        s.lockout = DRIVE; /* what can't be read is a lockout, never a clean slate */
        for (int k = 0; k <= DRIVE; k++) if (!strcmp(nodes[kept].text, LOCKOUT[k])) s.lockout = (enum lockout)k;
    }
}

static void learn(int seen)
{
    int k;
    take_bool(seen, "at_closed", &s.at_closed);
    take_bool(seen, "at_open", &s.at_open);
    take_bool(seen, "force", &s.force);
    take_bool(seen, "force_ready", &s.force_ready);
    take_bool(seen, "position_known", &s.position_known);
    if ((k = get(seen, "position"))) s.position = nodes[k].number;
    if ((k = get(seen, "motion"))) s.motion = way_of(k);
    if ((k = get(seen, "controls"))) {
        s.controls = 0;
        for (int one = nodes[k].child; one; one = nodes[one].next) {
            if (s.controls == MANY) die("too many controls");
            copy(s.control[s.controls].command, 20, nodes[nodes[one].child].text);
            copy(s.control[s.controls++].origin, 20, nodes[nodes[nodes[one].child].next].text);
        }
    }
    for (int one = (k = get(seen, "reports")) ? nodes[k].child : 0; one; one = nodes[one].next)
        for (int e = 0; e < set.edges; e++) {
            if (strcmp(set.edge[e], nodes[get(one, "edge")].text)) continue;
            struct report *r = &s.report[e];
            copy(r->level, sizeof r->level, nodes[get(one, "level")].text);
            take_bool(one, "heard", &r->heard);
            take_bool(one, "fresh", &r->fresh);
            take_bool(one, "low", &r->low);
            take_bool(one, "critical", &r->critical);
            take_bool(one, "asked", &r->asked);
            r->answered = number(one, "answered");
        }
}

static const char *yes(bool one) { return one ? "true" : "false"; }

static void answer(void)
{
    struct outputs o = { s.order, s.main, s.release, s.alarm, s.order != NONE && !s.position_known, s.lockout, s.mode, s.ask,
                         s.target, s.mode == REVERSING && s.has_target };
    const struct outputs *t = &s.told;
    bool all = !s.told_once, any = false;
#define TELL(differs, ...) do { if (all || (differs)) { printf(any ? "," : ""); any = true; printf(__VA_ARGS__); } } while (0)
    printf("{\"do\":{");
    if (o.order == NONE) TELL(o.order != t->order, "\"order\":null");
    else TELL(o.order != t->order, "\"order\":\"%s\"", WAY[o.order]);
    TELL(o.main != t->main, "\"main\":%s", yes(o.main));
    TELL(o.release != t->release, "\"brake\":\"%s\"", o.release ? "release" : "hold");
    TELL(o.alarm != t->alarm, "\"alarm\":%s", yes(o.alarm));
    TELL(o.slow != t->slow, "\"slow\":%s", yes(o.slow));
    TELL(o.lockout != t->lockout, "\"lockout\":\"%s\"", LOCKOUT[o.lockout]);
    TELL(o.mode != t->mode, "\"mode\":\"%s\"", MODE[o.mode]);
    TELL(o.ask != t->ask, "\"ask\":%.0f", o.ask);
    if (o.watched) TELL(!t->watched || o.watch != t->watch, "\"watch\":%.17g", o.watch);
    else TELL(t->watched, "\"watch\":null");
    all = true;
    if (*happened) TELL(true, "\"refused\":[%s]", happened);
    if (*notices) TELL(true, "\"notices\":[%s]", notices);
    double wake = s.until > s.now ? s.until : NEVER;
    if (s.alarm && s.alarm_until > s.now && (wake == NEVER || s.alarm_until < wake)) wake = s.alarm_until;
    printf("}");
    if (wake != NEVER) printf(",\"wake\":%.0f", wake);
    if (s.lockout == FREE) printf(",\"keep\":null}\n");
    else printf(",\"keep\":\"%s\"}\n", LOCKOUT[s.lockout]);
    s.told = o;
    s.told_once = true;
    *happened = *notices = 0;
}

static bool serve(void)
{
    int request = nodes[0].child;
    const char *kind = request ? nodes[request].key : "";
    int n = request && nodes[request].kind == NUMBER ? (int)nodes[request].number : -1;
    if (!strcmp(kind, "hello")) {
        learn_settings(get(request, "settings"));
        printf("{\"hello\":{\"gatesim-logic\":1,\"name\":\"small gate in C\",\"snapshots\":true,\"wants\":\"change\"}}\n");
    } else if (!strcmp(kind, "start")) {
        power_up(get(request, "kept"));
        answer();
    } else if (!strcmp(kind, "step")) {
        s.now = number(request, "now");
        learn(get(request, "seen"));
        step();
        answer();
    } else if (!strcmp(kind, "save") && n >= 0 && n < SAVES) {
        saved[n] = s;
        printf("{\"ok\":true}\n");
    } else if (!strcmp(kind, "back") && n >= 0 && n < SAVES) {
        s = saved[n];
        printf("{\"ok\":true}\n");
    } else if (!strcmp(kind, "bye")) {
        printf("{\"ok\":true}\n");
        return false;
    } else printf("{\"refused\":\"there is no such request\"}\n");
    return true;
}

int main(void)
{
    static char line[1 << 20];
    bool on = true;
    while (on && fgets(line, sizeof line, stdin)) {
        used = 0;
        at = line;
        value();
        on = serve();
        fflush(stdout);
    }
    return 0;
}
