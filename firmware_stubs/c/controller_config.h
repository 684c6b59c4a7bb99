/* Everything a homebuilder may want to change in the reference controller, in one table.
 *
 * Temperatures are thousandths of a degree Celsius, times milliseconds, duties permille. The same table in Python is
 * python/controller_config.py; keep the two alike.
 */
#ifndef CONTROLLER_CONFIG_H
#define CONTROLLER_CONFIG_H

#include <stdint.h>

/* What an input gives when there is no reading. */
#define CONTROLLER_NO_READING INT32_MIN

/* Timers stand still here instead of rolling over. */
#define TIMER_LONGEST_MS INT32_MAX

/* A timer after passed_ms more; both are 0 or more. */
static inline int32_t timer_after(int32_t timer_ms, int32_t passed_ms)
{
    return timer_ms > TIMER_LONGEST_MS - passed_ms ? TIMER_LONGEST_MS : timer_ms + passed_ms;
}

/* A timer that is -1 while its condition does not hold, and 0 at the first step that sees it. */
static inline int32_t timer_while(int32_t timer_ms, int32_t passed_ms)
{
    return timer_ms < 0 ? 0 : timer_after(timer_ms, passed_ms);
}

/* One set of PID gains. */
struct pid_gains {
    int32_t gain;          /* permille per kelvin, 1 to 10000 */
    int32_t integral_ms;   /* 1 or more */
    int32_t derivative_ms; /* 0: none */
    int32_t filter_ms;     /* of the derivative, 1 or more */
};

struct controller_config {
    /* Mash loop: one set for each place the probe may sit. */
    struct pid_gains gains[2];
    int32_t pulse_least_ms;
    /* Liquor loop and ceiling. */
    int32_t liquor_most, liquor_band, least_on_ms, least_off_ms, ceiling_above;
    /* Program. */
    int32_t reach_band;
    /* Burner. */
    int32_t purge_ms, purge_again_ms, trial_ms, prove_ms, loss_ms, tries, stray_ms, closing_ms;
    /* High limit. */
    int32_t limit_trip, limit_reset;
    /* Probes. */
    int32_t probe_least, probe_most, probe_lost_ms, probe_jump;
    int32_t frozen_band, frozen_ms, frozen_beside, frozen_full_ms, frozen_below;
    /* Pump and flow. */
    int32_t flow_settle_ms, flow_lost_ms, pump_start_ms;
    /* Line. */
    int32_t silence_ms;
    /* Calibration: times of its phases (a block is a whole number of cycles), the steady duty and its cycle, and what
     * counts as a response, as steady and as a burner that lights late. */
    int32_t cal_settle_ms, cal_respond_ms, cal_again_ms, cal_soak_ms, cal_block_ms, cal_settle_most_ms, cal_limit_ms;
    int32_t cal_duty, cal_cycle_ms, cal_rise, cal_steady, cal_light_ms;
};

/* CONTROLLER.md says what each rule does with them. */
extern const struct controller_config controller_defaults;

#endif
