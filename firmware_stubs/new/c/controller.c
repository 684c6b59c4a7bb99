#include "controller.h"

static const int32_t HYSTERESIS = 500; /* thousandths of a degree, as all temperatures */
static const int32_t LIMIT = 85000;
static const uint32_t PURGE_MS = 5000;  /* dark and shut that long before each trial: unburned gas drifts away */
static const uint32_t TRIAL_MS = 10000; /* at most 15 s by 46 CFR 62.35-20(a)(6) */

static void enter(struct controller *c, enum controller_stage stage, uint32_t now_ms)
{
    c->stage = stage;
    c->since_ms = now_ms;
}

void controller_start(struct controller *c, uint32_t now_ms)
{
    c->gas = c->spark = c->alarm = false;
    c->dark_ms = now_ms;
    c->reset_before = true; /* a button held from the first is no reset */
    enter(c, STAGE_SHUT, now_ms);
}

/* What needs a person, whatever the stage. */
static bool faulty(const struct controller_inputs *in)
{
    return in->silent || in->tank == CONTROLLER_NO_READING || in->tank > LIMIT;
}

static bool wants_heat(const struct controller *c, const struct controller_inputs *in)
{
    int32_t band = c->stage == STAGE_SHUT ? HYSTERESIS : 1;
    return in->run && in->setpoint != CONTROLLER_NO_READING && in->tank <= in->setpoint - band;
}

static void while_shut(struct controller *c, uint32_t now_ms, const struct controller_inputs *in)
{
    bool purged = now_ms - c->dark_ms >= PURGE_MS && now_ms - c->since_ms >= PURGE_MS;
    if (in->flame && now_ms - c->since_ms > PURGE_MS) {
        enter(c, STAGE_LOCKOUT, now_ms); /* a flame with the valve shut */
    } else if (purged && wants_heat(c, in)) {
        enter(c, STAGE_TRIAL, now_ms);
    }
}

static void while_open(struct controller *c, uint32_t now_ms, const struct controller_inputs *in)
{
    if (!wants_heat(c, in)) {
        enter(c, STAGE_SHUT, now_ms);
    } else if (c->stage == STAGE_BURNING && !in->flame) {
        enter(c, STAGE_LOCKOUT, now_ms);
    } else if (c->stage == STAGE_TRIAL && in->flame) {
        enter(c, STAGE_BURNING, now_ms);
    } else if (c->stage == STAGE_TRIAL && now_ms - c->since_ms >= TRIAL_MS) {
        enter(c, STAGE_LOCKOUT, now_ms);
    }
}

void controller_step(struct controller *c, uint32_t now_ms, const struct controller_inputs *in)
{
    bool pressed = in->reset && !c->reset_before;
    c->reset_before = in->reset;
    if (in->flame) {
        c->dark_ms = now_ms;
    }
    if (c->stage == STAGE_LOCKOUT && pressed) {
        enter(c, STAGE_SHUT, now_ms);
    }
    if (faulty(in)) {
        enter(c, STAGE_LOCKOUT, now_ms);
    } else if (c->stage == STAGE_SHUT) {
        while_shut(c, now_ms, in);
    } else if (c->stage != STAGE_LOCKOUT) {
        while_open(c, now_ms, in);
    }
    c->gas = c->stage == STAGE_TRIAL || c->stage == STAGE_BURNING;
    c->spark = c->stage == STAGE_TRIAL;
    c->alarm = c->stage == STAGE_LOCKOUT;
}
