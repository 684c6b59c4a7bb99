/* From what was seen of a response to a model of it, and to the setting of a PI loop. Integers only. */
#ifndef RESPONSE_H
#define RESPONSE_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"

/* What was seen: means of temperatures [m°C], times [ms]. */
struct response {
    int32_t base, drift, drift_ms; /* without heat: the last mean, and its change from one drift_ms before */
    int32_t first, middle, last;   /* under the steady duty, apart_ms from each to the next */
    int32_t apart_ms;
    int32_t fired_ms, passed_ms;   /* with a flame, and in all, under the steady duty */
    int32_t seen_ms;               /* full heat: from the flame until `rise` above the drift */
    int32_t rise;
};

/* First order with dead time; or an integrator with dead time, where the response does not bend enough. */
struct model {
    int32_t dead_time_ms;
    int32_t slope;            /* at full fire, before losses grow: millionths of a kelvin a second */
    int32_t gain;             /* at full fire for ever: thousandths of a kelvin; 0: cannot be told */
    int32_t time_constant_ms; /* 0: cannot be told */
};

/* 1 if gain and time constant can be told from the three means: the second change is 5 to 98 % of the first. */
bool response_bends(const struct response *seen);

/* 1 if the second change is 75 % of the first or less: waiting longer makes little better. */
bool response_bent(const struct response *seen);

/* 0 if it fits no such model. A dead time that is not above 0 fits none either; it is then in the model. */
bool response_model(const struct response *seen, struct model *model);

/* SIMC (S. Skogestad, J. Process Control 13 (2003) 291-309): PI with the closed loop's time constant equal to the
 * dead time. To the dead time comes half the cycle of the time-proportioned output. */
void response_gains(const struct model *model, int32_t cycle_ms, struct pid_gains *gains);

#endif
