/* See signals.h. */
#include "signals.h"

enum { CODES = 256 };

static int32_t held(int32_t value, int32_t low, int32_t high) {
    return value < low ? low : value > high ? high : value;
}

uint16_t pwm_ticks_of_counts(int32_t counts) {
    return (uint16_t)((2 * held(counts, 0, 1023) + 1) * (PWM_TICKS / 2048));
}

uint16_t pwm_ticks_of_uv(int32_t uv, int32_t supply_uv) {
    int64_t ticks = (int64_t)held(uv, 0, supply_uv) * PWM_TICKS;
    return (uint16_t)((ticks + supply_uv / 2) / supply_uv);
}

uint8_t wiper_code(const struct resistor *it, int32_t mohm) {
    int64_t inner = (int64_t)mohm - it->series_mohm;
    if (it->parallel_mohm != 0) {
        if (inner >= it->parallel_mohm)
            return CODES - 1;
        inner = inner * it->parallel_mohm / (it->parallel_mohm - inner);
    }
    inner -= it->wiper_mohm;
    if (inner <= 0)
        return 0;
    if (inner >= it->end_to_end_mohm)
        return CODES - 1;
    inner = (inner * CODES + it->end_to_end_mohm / 2) / it->end_to_end_mohm;
    return (uint8_t)(inner < CODES ? inner : CODES - 1);
}

uint8_t settled(struct pin *it, uint8_t is_on, uint32_t now_ms, uint32_t settle_ms) {
    if (is_on == it->is_on) {
        it->since_ms = now_ms;
    } else if (now_ms - it->since_ms >= settle_ms) {
        it->is_on = is_on;
        it->since_ms = now_ms;
    }
    return it->is_on;
}
