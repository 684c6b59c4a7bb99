/* From set points to heat wanted: both loops, duty by hand, time-proportioned output, ceiling. */
#ifndef LOOPS_H
#define LOOPS_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"
#include "pid.h"

enum loop_kind { LOOP_NONE, LOOP_LIQUOR, LOOP_MASH, LOOP_CALIBRATION };

/* What the loops are asked for in one step. Temperatures in m°C. */
struct loops_order {
    uint8_t kind;     /* enum loop_kind: the active loop */
    uint8_t place;    /* the probe of the mash loop, 0 or 1 */
    bool manual;
    bool believed;    /* every probe in use reads */
    bool permitted;   /* heat is allowed at all */
    int16_t manual_duty;
    int32_t setpoint; /* 0: none */
    int32_t cycle_ms;
    int32_t liquor;
    int32_t measured; /* what the probe at `place` reads */
    const struct pid_gains *gains; /* for it */
};

struct loops {
    uint8_t kind;
    bool manual;
    bool relay; /* of the liquor loop */
    bool over;  /* the ceiling was reached */
    bool kept;  /* the duty in force at the change to manual goes on ... */
    int16_t kept_input; /* ... until manual_duty is no longer this */
    int16_t duty; /* permille, of the active loop, whether or not heat is permitted */
    int32_t relay_ms; /* since the relay last changed */
    int32_t over_ms;  /* since the ceiling was last reached */
    int32_t window_ms; /* in the cycle window; -1: no window */
    int32_t length_ms; /* of the window */
    int32_t on_ms;
    struct pid pid;
};

void loops_init(struct loops *loops);

/* No loop is active in this step. */
void loops_rest(struct loops *loops, int32_t passed_ms);

/* 1 if the active loop wants heat now. */
bool loops_step(struct loops *loops, const struct controller_config *config, int32_t passed_ms,
                const struct loops_order *order);

#endif
