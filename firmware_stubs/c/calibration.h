/* Open-loop calibration of the mash loop: what it is, to the loop's probe, to heat at full fire.
 *
 *     SETTLE --steady--> FULL --response seen--> AGAIN --steady--> STEADY --bent, or long enough--> FOUND
 *        '-- a fault, a person, a late burner, no response, the time limit: GAVE_UP, with the reason
 *
 * It only asks for a duty; what may burn, and when, is decided where it always is. CONTROLLER.md says how the
 * figures are found.
 */
#ifndef CALIBRATION_H
#define CALIBRATION_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"
#include "response.h"

enum calibration_phase {
    CALIBRATION_NONE,
    CALIBRATION_SETTLE,
    CALIBRATION_FULL,
    CALIBRATION_AGAIN,
    CALIBRATION_STEADY,
    CALIBRATION_FOUND,
    CALIBRATION_GAVE_UP
};

enum calibration_reason {
    GAVE_UP_NOT,
    GAVE_UP_PERSON,      /* stopped, another mode, manual, or the other probe */
    GAVE_UP_FAULT,
    GAVE_UP_HEAT,        /* the burner lights late, or the full heat was interrupted */
    GAVE_UP_NO_RESPONSE, /* not within the time for it */
    GAVE_UP_DEAD_TIME,   /* response at once, or before the heat */
    GAVE_UP_UNSTEADY,    /* does not settle without heat */
    GAVE_UP_CEILING,     /* the liquor is at its ceiling */
    GAVE_UP_FIGURES,     /* a response that fits no model */
    GAVE_UP_TIME
};

/* What it goes by in one step. */
struct calibration_view {
    bool asked;    /* running, in this mode, not by hand */
    bool fault;    /* one stands */
    bool over;     /* the liquor is at its ceiling */
    bool believed; /* every probe in use reads */
    bool open;     /* the gas valve is */
    bool flame;    /* is seen */
    uint8_t place; /* of the mash loop's probe */
    int32_t trial_ms; /* since the gas was opened, until a flame is proved; else 0 */
    int32_t measured; /* m°C */
};

struct calibration {
    uint8_t phase;   /* enum calibration_phase */
    uint8_t reason;  /* enum calibration_reason */
    uint8_t place;
    uint8_t windows; /* whole ones in this phase, counted up to 255 */
    bool asked, changed, lit;
    bool found[2];   /* gains[0], gains[1] */
    int16_t duty;    /* wanted now, permille */
    int32_t total_ms, phase_ms;
    int32_t value;   /* read last [m°C] */
    int64_t sum;     /* over the window [m°C ms] */
    int32_t window_ms;
    int32_t means[3]; /* of the last windows, the newest last [m°C] */
    int32_t lit_ms;  /* since the flame was first seen in full heat */
    int32_t rise;    /* in the window before [m°C] */
    struct response seen;
    struct model model;
    struct pid_gains gains[2];
};

void calibration_init(struct calibration *cal);

/* One step; `duty` is then in force, and `changed` says that there is something to tell. */
void calibration_step(struct calibration *cal, const struct controller_config *config, int32_t passed_ms,
                      const struct calibration_view *view);

/* The gains in force for the probe at `place`: found ones, else the table's. */
const struct pid_gains *calibration_gains(const struct calibration *cal, const struct controller_config *config,
                                          uint8_t place);

#endif
