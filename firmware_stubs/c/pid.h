/* PID in integers: position form, derivative on the measurement and filtered, conditional integration.
 *
 * Inside, a duty is in thousandths of a permille: permille per kelvin times thousandths of a kelvin. The set point
 * is not weighted: a step of the set point should bring full fire at once, and the integral holds meanwhile.
 */
#ifndef PID_H
#define PID_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"

struct pid {
    bool ready; /* a first measurement was taken */
    uint8_t place;
    int32_t since_ms;
    int32_t integral;
    int32_t filtered; /* millionths of a degree */
};

/* What one computation works on. */
struct pid_input {
    int32_t setpoint, measured; /* m°C */
    int16_t duty;               /* permille, in force */
    uint8_t place;              /* of the probe; a change is taken over without a bump */
    bool follow;                /* the duty is set by hand; keep ready to take over at `duty` without a bump */
    bool hold;                  /* the heat is blocked; do not integrate */
};

void pid_init(struct pid *pid);

/* 1 if the loop is to be computed now: at once at first, then every second. */
bool pid_due(struct pid *pid, int32_t passed_ms);

/* Duty [permille]. */
int16_t pid_step(struct pid *pid, const struct pid_gains *gains, const struct pid_input *in);

#endif
