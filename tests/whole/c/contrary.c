/* A core with the reference controller's face and none of its sense, for tests that no scenario passes it. The
 * environment says what it does: CONTRARY_HABIT, a letter, see below, and CONTRARY_FAULT, the fault it shows.
 */
#include <stdlib.h>
#include <string.h>
#include "controller.h"

static uint32_t seed;
static char habit;
static int16_t fault;

static int16_t chance(uint32_t below)
{
    seed = seed * 1664525u + 1013904223u;
    return (int16_t)((seed >> 16) % below);
}

void controller_init(struct controller *c, const struct controller_config *config, bool fahrenheit, uint32_t now_ms,
                     uint8_t nv, bool power_cut)
{
    memset(c, 0, sizeof *c);
    c->config = config;
    c->fahrenheit = fahrenheit;
    c->now_ms = now_ms;
    (void)nv;
    (void)power_cut;
    seed = 1;
    habit = getenv("CONTRARY_HABIT")[0];
    fault = (int16_t)atoi(getenv("CONTRARY_FAULT"));
}

void controller_step(struct controller *c, uint32_t now_ms, uint32_t quiet_ms, const int32_t *inputs)
{
    int16_t *out = c->outputs;
    (void)quiet_ms;
    (void)inputs;
    c->now_ms = now_ms;
    switch (habit) {
    case 'a': /* never heats, and always says why not */
        out[OUT_ALARM] = 1;
        out[OUT_STAGE] = CONTROLLER_LOCKOUT_STAGE;
        out[OUT_FAULT] = fault;
        break;
    case 'l': /* heats for ever and finds nothing wrong */
        out[OUT_GAS_VALVE] = out[OUT_IGNITER] = out[OUT_PUMP] = 1;
        out[OUT_DUTY] = 1000;
        out[OUT_STAGE] = 3;
        break;
    case 'e': /* the same, with the alarm on */
        out[OUT_GAS_VALVE] = out[OUT_IGNITER] = out[OUT_PUMP] = out[OUT_ALARM] = 1;
        out[OUT_DUTY] = 1000;
        out[OUT_STAGE] = CONTROLLER_LOCKOUT_STAGE;
        out[OUT_FAULT] = fault;
        break;
    case 'c': /* every output at any value, every ten seconds or so */
        if (chance(40) == 0) {
            out[OUT_GAS_VALVE] = chance(2);
            out[OUT_IGNITER] = chance(2);
            out[OUT_PUMP] = chance(2);
            out[OUT_ALARM] = chance(2);
            out[OUT_DUTY] = chance(1001);
            out[OUT_STAGE] = chance(5);
            out[OUT_FAULT] = chance(13);
            out[OUT_STEP] = chance(10);
        }
        break;
    default: /* answers, and does nothing */
        break;
    }
}
