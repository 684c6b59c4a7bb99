/* PID in integers. Products that can pass 32 bits use 64; C's division truncates toward zero. */
#include "pid.h"

#define EVERY_MS 1000
#define LONGEST_STEP_MS 2000
#define FULL 1000000
/* Bounds each term, so that their sum stays far inside 32 bits. */
#define TERM_MOST 100000000

static int32_t bound(int64_t value)
{
    if (value > TERM_MOST) {
        return TERM_MOST;
    }
    return value < -TERM_MOST ? -TERM_MOST : (int32_t)value;
}

void pid_init(struct pid *pid)
{
    pid->ready = false;
    pid->place = 0;
    pid->since_ms = 0;
    pid->integral = 0;
    pid->filtered = 0;
}

bool pid_due(struct pid *pid, int32_t passed_ms)
{
    pid->since_ms = timer_after(pid->since_ms, passed_ms);
    return !pid->ready || pid->since_ms >= EVERY_MS;
}

static int32_t derivative_term(struct pid *pid, const struct pid_gains *gains, int32_t measured, int32_t step_ms)
{
    int32_t lag = measured * 1000 - pid->filtered;
    pid->filtered += (int32_t)((int64_t)lag * step_ms / ((int64_t)gains->filter_ms + step_ms));
    lag = measured * 1000 - pid->filtered;
    return -bound((int64_t)gains->gain * gains->derivative_ms * lag / ((int64_t)gains->filter_ms * 1000));
}

/* Never carried out of 0 to FULL; taken over from a hand-set duty it may begin outside. */
static void integrate(struct pid *pid, int32_t change)
{
    int32_t after = pid->integral + change;
    if (change > 0 && after > FULL) {
        after = pid->integral > FULL ? pid->integral : FULL;
    } else if (change < 0 && after < 0) {
        after = pid->integral < 0 ? pid->integral : 0;
    }
    pid->integral = after;
}

/* True if the integral must follow the duty in force. */
static bool take_over(struct pid *pid, const struct pid_input *in)
{
    bool follow = in->follow;
    if (!pid->ready) {
        pid->integral = 0;
    } else if (in->place != pid->place) {
        follow = true;
    }
    if (!pid->ready || in->place != pid->place) {
        pid->filtered = in->measured * 1000;
        pid->ready = true;
        pid->place = in->place;
    }
    return follow;
}

int16_t pid_step(struct pid *pid, const struct pid_gains *gains, const struct pid_input *in)
{
    int32_t step_ms = pid->since_ms < LONGEST_STEP_MS ? pid->since_ms : LONGEST_STEP_MS;
    bool follow = take_over(pid, in);
    int32_t error = in->setpoint - in->measured;
    int32_t proportional = bound((int64_t)gains->gain * error);
    int32_t others = proportional + derivative_term(pid, gains, in->measured, step_ms);
    int32_t total = others + pid->integral;
    pid->since_ms = 0;
    if (follow) {
        pid->integral = (int32_t)in->duty * 1000 - others;
        return in->duty;
    }
    if (!in->hold && !(total >= FULL && error > 0) && !(total <= 0 && error < 0)) {
        integrate(pid, bound((int64_t)gains->gain * error * step_ms / gains->integral_ms));
        total = others + pid->integral;
    }
    if (total <= 0) {
        return 0;
    }
    return (int16_t)(((total < FULL ? total : FULL) + 500) / 1000);
}
