/* A small gate controller on the wire, for scenarios/sites/mill-lane.site.yaml: gate HOST PORT MAP_HASH
 *
 * It polls the discrete inputs, drives the coils, and reverses on a press, a fault or the force sensing.  What
 * `gatesim wiring` says of the site is in the constants below; MAP_HASH is its last line.  An example of the wire and no
 * controller for a gate: it knows no lockout, no hold-to-run and no store.
 *
 *     cc -O2 -o gate gate.c $(pkg-config --cflags --libs libmodbus)
 */
#include <errno.h>
#include <modbus.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { GOING, SUPPLY, AT_CLOSED, AT_OPEN, FORCE, FORCE_READY, POSITION_KNOWN, MOVING_OPENING, MOVING_CLOSING };
enum { OPEN_WIRED = 16, OPEN_RADIO, CLOSE_WIRED = 19, CLOSE_RADIO, STOP_WIRED = 22, STOP_RADIO };
enum { FRONT_EDGE = 48, REAR_EDGE = 64, INPUTS = 80 }; /* reports: 0 at rest, 7 fresh */
enum { ORDER_OPEN, ORDER_CLOSE, SLOW, MAIN, BRAKE_RELEASED, ALARM, ARMED, HEARTBEAT, COILS };
enum { IDENTITY = 0, RUN_NUMBER = 3, RUN_TIME = 6, POSITION = 10, ANSWERED = 21, TEST_REQUEST = 5 };
enum mode { REST, TESTING, MOVING, STOPPING, DWELL };

static uint8_t in[INPUTS], out[COILS];
static uint16_t words[24];
static enum mode mode = REST;
static int way, back, request, fresh_press, run;
static int64_t since, target;

static int64_t now_us(void)
{
    return (int64_t)words[RUN_TIME + 1] << 32 | (int64_t)words[RUN_TIME + 2] << 16 | words[RUN_TIME + 3];
}

static int64_t position_um(void) { return (int32_t)((uint32_t)words[POSITION] << 16 | words[POSITION + 1]); }
static int edge_of(int direction) { return direction > 0 ? REAR_EDGE : FRONT_EDGE; }
static int guarded(int direction) { return in[edge_of(direction)] && in[edge_of(direction) + 7]; }
static int moving(void) { return in[MOVING_OPENING] || in[MOVING_CLOSING]; }

static void order(int direction)
{
    out[ORDER_OPEN] = direction > 0;
    out[ORDER_CLOSE] = direction < 0;
    out[SLOW] = direction && !in[POSITION_KNOWN];
}

static void enter(enum mode next, int direction)
{
    mode = next;
    since = now_us();
    order(next == MOVING ? direction : 0);
    out[MAIN] = next != REST && next != TESTING;
}

static void begin(int direction)
{
    if (direction > 0 ? in[AT_OPEN] : in[AT_CLOSED]) return;
    way = direction;
    back = 0;
    request++;
    enter(TESTING, way);
}

static void go_back(void)
{
    way = -way;
    back = 1;
    target = position_um() + way * (way > 0 ? 1200000 : 150000);
    if (guarded(way)) enter(MOVING, way);
    else enter(REST, 0);
}

static void think(void)
{
    int pressed = in[OPEN_WIRED] | in[OPEN_RADIO] ? 1 : in[CLOSE_WIRED] | in[CLOSE_RADIO] ? -1 : 0;
    int stop = in[STOP_WIRED] | in[STOP_RADIO];
    int news = pressed && pressed != fresh_press;
    fresh_press = pressed;
    if (mode == REST && news && !stop) {
        begin(pressed);
    } else if (mode == TESTING) {
        int answered = words[ANSWERED] == request && words[ANSWERED + 1] == request;
        if (stop || now_us() - since > 2000000) enter(REST, 0);
        else if (answered && guarded(1) && guarded(-1) && in[FORCE_READY] && !in[FORCE]) enter(MOVING, way);
    } else if (mode == MOVING) {
        int ended = way > 0 ? in[AT_OPEN] : in[AT_CLOSED];
        int there = back && (position_um() - target) * way >= 0;
        int danger = !guarded(way) || (in[FORCE] && !back);
        if (danger && !back && !stop) enter(DWELL, 0);
        else if (stop || ended || there || danger) enter(STOPPING, 0);
    } else if (mode == STOPPING && !moving()) {
        enter(REST, 0);
    } else if (mode == DWELL) {
        if (moving()) since = now_us();
        else if (now_us() - since > 100000) go_back();
    }
}

static int poll(modbus_t *wire)
{
    if (modbus_read_input_bits(wire, 0, INPUTS, in) < 0) return -1;
    if (modbus_read_input_registers(wire, 0, ANSWERED + 2, words) < 0) return -1;
    if (words[RUN_NUMBER] != run) { /* another run: as after a power-up */
        run = words[RUN_NUMBER];
        enter(REST, 0);
    }
    if (in[GOING] && in[SUPPLY]) {
        int before = request;
        think();
        if (request != before && modbus_write_register(wire, TEST_REQUEST, request) < 0) return -1;
    }
    out[HEARTBEAT] ^= 1;
    return modbus_write_bits(wire, 0, COILS, out); /* all coils in one request: none of them alone */
}

int main(int count, char **args)
{
    if (count != 4) return fprintf(stderr, "usage: gate HOST PORT MAP_HASH\n"), 2;
    modbus_t *wire = modbus_new_tcp(args[1], atoi(args[2]));
    if (wire == NULL || modbus_connect(wire) < 0) return fprintf(stderr, "%s\n", modbus_strerror(errno)), 3;
    unsigned long hash = strtoul(args[3], NULL, 16);
    if (modbus_read_input_registers(wire, IDENTITY, 3, words) < 0 || ((unsigned long)words[1] << 16 | words[2]) != hash)
        return fprintf(stderr, "the server has another wiring\n"), 3;
    struct timespec pause = {0, 5000000};
    while (poll(wire) >= 0) nanosleep(&pause, NULL);
    fprintf(stderr, "the wire ended: %s\n", modbus_strerror(errno));
    modbus_close(wire);
    modbus_free(wire);
    return 0;
}
