/* Open-loop calibration of the mash loop. */
#include "calibration.h"

/* Length of a mean in full heat; under the steady duty, how many blocks from the first mean to the last. */
#define RESPONSE_MS 10000
#define BLOCKS_USUAL 8
#define BLOCKS_MOST 16

void calibration_init(struct calibration *cal)
{
    cal->phase = CALIBRATION_NONE;
    cal->reason = GAVE_UP_NOT;
    cal->place = 0;
    cal->found[0] = false;
    cal->found[1] = false;
    cal->asked = false;
    cal->changed = false;
    cal->duty = 0;
    cal->model = (struct model){0, 0, 0, 0};
}

static void enter(struct calibration *cal, uint8_t phase, int32_t duty)
{
    cal->phase = phase;
    cal->changed = true;
    cal->duty = (int16_t)duty;
    cal->phase_ms = 0;
    cal->windows = 0;
    cal->window_ms = 0;
    cal->sum = 0;
}

static void give_up(struct calibration *cal, uint8_t reason)
{
    enter(cal, CALIBRATION_GAVE_UP, 0);
    cal->reason = reason;
}

static void begin(struct calibration *cal, const struct calibration_view *view)
{
    enter(cal, CALIBRATION_SETTLE, 0);
    cal->reason = GAVE_UP_NOT;
    cal->place = view->place;
    cal->total_ms = 0;
    cal->value = view->believed ? view->measured : 0;
}

/* 1 when a window of length_ms is full; its mean is then the newest. */
static bool window_full(struct calibration *cal, int32_t passed_ms, int32_t length_ms)
{
    cal->sum += (int64_t)cal->value * passed_ms;
    cal->window_ms = timer_after(cal->window_ms, passed_ms);
    if (cal->window_ms < length_ms) {
        return false;
    }
    cal->means[0] = cal->means[1];
    cal->means[1] = cal->means[2];
    cal->means[2] = (int32_t)(cal->sum / cal->window_ms);
    cal->sum = 0;
    cal->window_ms = 0;
    if (cal->windows < UINT8_MAX) {
        cal->windows++;
    }
    return true;
}

/* Without heat: steady is as much drift to the third mean as there was to the second. */
static void settle(struct calibration *cal, const struct controller_config *config, int32_t passed_ms,
                   int32_t least_ms, uint8_t next, int32_t duty)
{
    int32_t drift, change;
    if (!window_full(cal, passed_ms, least_ms / 3)) {
        return;
    }
    drift = cal->means[2] - cal->means[1];
    change = drift - (cal->means[1] - cal->means[0]);
    if (cal->windows >= 3 && change <= config->cal_steady && change >= -config->cal_steady) {
        cal->seen.base = cal->means[2];
        cal->seen.drift = drift;
        cal->seen.drift_ms = least_ms / 3;
        cal->lit = false;
        enter(cal, next, duty);
    } else if (cal->phase_ms >= config->cal_settle_most_ms) {
        give_up(cal, GAVE_UP_UNSTEADY);
    }
}

/* The drift goes on from the middle of the last mean without heat; the moment lies between two means. */
static void look_for_response(struct calibration *cal, const struct controller_config *config)
{
    const struct response *seen = &cal->seen;
    int32_t since_ms = cal->phase_ms - RESPONSE_MS / 2 + seen->drift_ms / 2;
    int32_t drifted = (int32_t)((int64_t)seen->drift * since_ms / seen->drift_ms);
    int32_t rise = cal->means[2] - seen->base - drifted;
    if (rise < config->cal_rise) {
        cal->rise = rise;
    } else if (cal->windows == 1) {
        give_up(cal, GAVE_UP_DEAD_TIME);
    } else {
        cal->seen.rise = config->cal_rise;
        cal->seen.seen_ms = cal->lit_ms - RESPONSE_MS / 2 -
                            (int32_t)((int64_t)RESPONSE_MS * (rise - config->cal_rise) / (rise - cal->rise));
        enter(cal, CALIBRATION_AGAIN, 0);
    }
}

static void full_heat(struct calibration *cal, const struct controller_config *config, int32_t passed_ms,
                      const struct calibration_view *view)
{
    if (cal->lit && !view->open) {
        give_up(cal, GAVE_UP_HEAT);
    } else if (cal->phase_ms >= config->cal_respond_ms) {
        give_up(cal, GAVE_UP_NO_RESPONSE);
    } else if (cal->lit) {
        cal->lit_ms = timer_after(cal->lit_ms, passed_ms);
        if (window_full(cal, passed_ms, RESPONSE_MS)) {
            look_for_response(cal, config);
        }
    } else {
        cal->lit = view->flame && view->open;
        cal->lit_ms = 0;
    }
}

static void finish(struct calibration *cal, const struct controller_config *config)
{
    struct model model;
    if (!response_model(&cal->seen, &model)) {
        give_up(cal, GAVE_UP_FIGURES);
    } else if (model.dead_time_ms <= 0) {
        give_up(cal, GAVE_UP_DEAD_TIME);
    } else {
        cal->model = model;
        response_gains(&cal->model, config->cal_cycle_ms, &cal->gains[cal->place]);
        cal->found[cal->place] = true;
        enter(cal, CALIBRATION_FOUND, 0);
    }
}

/* Means of blocks 0, n/2 and n for n = 2, 4, 8, 16: twice the time tells half as much of a bend. */
static void steady_duty(struct calibration *cal, const struct controller_config *config, int32_t passed_ms,
                        const struct calibration_view *view)
{
    struct response *seen = &cal->seen;
    int32_t n;
    if (cal->phase_ms < config->cal_soak_ms) {
        seen->fired_ms = 0;
        seen->passed_ms = 0;
        return;
    }
    seen->passed_ms = timer_after(seen->passed_ms, passed_ms);
    seen->fired_ms = timer_after(seen->fired_ms, view->flame ? passed_ms : 0);
    if (!window_full(cal, passed_ms, config->cal_block_ms)) {
        return;
    }
    n = cal->windows - 1;
    if (n == 0) {
        seen->first = cal->means[2];
    } else if ((n & (n - 1)) == 0) {
        seen->last = cal->means[2];
        seen->apart_ms = n / 2 * config->cal_block_ms;
        if (n >= BLOCKS_MOST || (n >= BLOCKS_USUAL && response_bends(seen)) || (n >= 2 && response_bent(seen))) {
            finish(cal, config);
        }
        seen->middle = seen->last;
    }
}

/* Why to give up now, GAVE_UP_NOT if there is no reason. */
static uint8_t reason_now(const struct calibration *cal, const struct controller_config *config,
                          const struct calibration_view *view)
{
    if (view->fault) {
        return GAVE_UP_FAULT;
    }
    if (!view->asked || view->place != cal->place) {
        return GAVE_UP_PERSON;
    }
    if (view->trial_ms > config->cal_light_ms) {
        return GAVE_UP_HEAT;
    }
    if (view->over) {
        return GAVE_UP_CEILING;
    }
    return cal->total_ms >= config->cal_limit_ms ? GAVE_UP_TIME : GAVE_UP_NOT;
}

static void move_on(struct calibration *cal, const struct controller_config *config, int32_t passed_ms,
                    const struct calibration_view *view)
{
    if (view->believed) {
        cal->value = view->measured;
    }
    switch (cal->phase) {
    case CALIBRATION_SETTLE:
        settle(cal, config, passed_ms, config->cal_settle_ms, CALIBRATION_FULL, 1000);
        break;
    case CALIBRATION_FULL:
        full_heat(cal, config, passed_ms, view);
        break;
    case CALIBRATION_AGAIN:
        settle(cal, config, passed_ms, config->cal_again_ms, CALIBRATION_STEADY, config->cal_duty);
        break;
    default:
        steady_duty(cal, config, passed_ms, view);
    }
}

void calibration_step(struct calibration *cal, const struct controller_config *config, int32_t passed_ms,
                      const struct calibration_view *view)
{
    bool asked_was = cal->asked;
    uint8_t reason;
    cal->asked = view->asked;
    cal->changed = false;
    if (view->asked && !asked_was) {
        begin(cal, view);
    } else if (cal->phase >= CALIBRATION_SETTLE && cal->phase <= CALIBRATION_STEADY) {
        cal->total_ms = timer_after(cal->total_ms, passed_ms);
        cal->phase_ms = timer_after(cal->phase_ms, passed_ms);
        reason = reason_now(cal, config, view);
        if (reason != GAVE_UP_NOT) {
            give_up(cal, reason);
        } else {
            move_on(cal, config, passed_ms, view);
        }
    }
}

const struct pid_gains *calibration_gains(const struct calibration *cal, const struct controller_config *config,
                                          uint8_t place)
{
    return cal->found[place] ? &cal->gains[place] : &config->gains[place];
}
