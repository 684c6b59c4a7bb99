/* From what was seen of a response to a model of it, and to the setting of a PI loop. */
#include "response.h"

#define MILLION 1000000
/* A rig that warms by less than 0.1 mK or by more than 1 K a second at full fire is none. */
#define SLOPE_LEAST 100
#define SLOPE_MOST 1000000
#define GAIN_MOST 10000000
/* Changes smaller than this say nothing of a bend. */
#define CHANGE_LEAST 300

static int32_t magnitude(int32_t value)
{
    return value < 0 ? -value : value;
}

/* The second change of the means is at least `least` and at most `most` percent of the first, the same way. */
static bool bends(const struct response *seen, int32_t least, int32_t most)
{
    int32_t one = seen->middle - seen->first;
    int32_t two = seen->last - seen->middle;
    if ((one > 0) != (two > 0) || magnitude(one) < CHANGE_LEAST) {
        return false;
    }
    return magnitude(two) * 100 <= magnitude(one) * most && magnitude(two) * 100 >= magnitude(one) * least;
}

bool response_bends(const struct response *seen)
{
    return bends(seen, 5, 98);
}

bool response_bent(const struct response *seen)
{
    return bends(seen, 5, 75);
}

/* Natural logarithm of one / two, one > two > 0, in millionths: 2 (x + x^3/3 + x^5/5 + ...) with
 * x = (one - two) / (one + two). */
static int64_t log_of_ratio(int32_t one, int32_t two)
{
    int64_t x = ((int64_t)one - two) * MILLION / ((int64_t)one + two);
    int64_t power = x;
    int64_t sum = 0;
    int32_t n = 1;
    while (power >= n) {
        sum += power / n;
        power = power * x / MILLION * x / MILLION;
        n += 2;
    }
    return 2 * sum;
}

/* What the heat did at full fire of what `change` of the temperature it did as fired. */
static int64_t at_full_fire(const struct response *seen, int64_t change)
{
    return change * seen->passed_ms / seen->fired_ms;
}

/* Three means of an exponential, equally far apart: its end, and where the rig would end unheated. */
static void first_order(const struct response *seen, struct model *model)
{
    int32_t one = magnitude(seen->middle - seen->first);
    int32_t two = magnitude(seen->last - seen->middle);
    int64_t time_ms = (int64_t)seen->apart_ms * MILLION / log_of_ratio(one, two);
    int32_t way = (int32_t)((int64_t)one * one / (one - two));
    int32_t end = seen->middle < seen->first ? seen->first - way : seen->first + way;
    int64_t unheated = seen->base - seen->drift / 2 + seen->drift * time_ms / seen->drift_ms;
    int64_t gain = at_full_fire(seen, end - unheated);
    model->time_constant_ms = (int32_t)time_ms;
    model->gain = gain > GAIN_MOST || gain < 0 ? 0 : (int32_t)gain;
    model->slope = (int32_t)((int64_t)model->gain * MILLION / time_ms);
}

static void integrator(const struct response *seen, struct model *model)
{
    int64_t heated = (int64_t)(seen->last - seen->first) * MILLION / (2 * (int64_t)seen->apart_ms);
    int64_t slope = at_full_fire(seen, heated - (int64_t)seen->drift * MILLION / seen->drift_ms);
    model->time_constant_ms = 0;
    model->gain = 0;
    model->slope = slope > SLOPE_MOST ? SLOPE_MOST + 1 : slope < 0 ? 0 : (int32_t)slope;
}

bool response_model(const struct response *seen, struct model *model)
{
    model->dead_time_ms = 0;
    if (seen->fired_ms <= 0) {
        return false;
    }
    if (response_bends(seen)) {
        first_order(seen, model);
    } else {
        integrator(seen, model);
    }
    if (model->slope < SLOPE_LEAST || model->slope > SLOPE_MOST) {
        return false;
    }
    model->dead_time_ms = seen->seen_ms - (int32_t)((int64_t)seen->rise * MILLION / model->slope);
    return true;
}

void response_gains(const struct model *model, int32_t cycle_ms, struct pid_gains *gains)
{
    int64_t delay_ms = model->dead_time_ms + cycle_ms / 2;
    int64_t gain = (int64_t)MILLION * MILLION / (2 * delay_ms * model->slope);
    int64_t integral_ms = 8 * delay_ms;
    if (model->time_constant_ms != 0 && model->time_constant_ms < integral_ms) {
        integral_ms = model->time_constant_ms;
    }
    gains->gain = gain > 10000 ? 10000 : gain < 1 ? 1 : (int32_t)gain;
    gains->integral_ms = (int32_t)integral_ms;
    gains->derivative_ms = 0;
    gains->filter_ms = 1000;
}
