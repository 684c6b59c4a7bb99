/* Is a probe's reading to be believed?
 *
 * Each count of time begins with the first step that sees a thing, in steps of the time that has passed.
 */
#ifndef PROBES_H
#define PROBES_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"

struct probe {
    bool reads;
    bool has_reference;
    int32_t lost_ms; /* -1 while it reads */
    int32_t reference;
    int32_t reference_ms;
};

void probe_init(struct probe *probe);

/* Take the reading [m°C], CONTROLLER_NO_READING for none; returns the probe's fault: 0, 1, 2 or 4. */
uint8_t probe_step(struct probe *probe, const struct controller_config *config, int32_t passed_ms, int32_t value);

/* Watches a reading that must move while the burner heats, beside another in the same water. heated_ms runs up while
 * the flame is proved and down while it is not, so that short pulses that only make up for losses never add up to a
 * fault; full_ms is the time of a flame without a pause. */
struct stillness {
    int32_t reference, beside;
    int32_t heated_ms, full_ms;
};

void stillness_init(struct stillness *stillness);

/* 1 if `value` [m°C] stood still through frozen_ms of heating in which `beside` [m°C] did not, or through
 * frozen_full_ms of a flame without a pause. */
bool stillness_step(struct stillness *stillness, const struct controller_config *config, int32_t passed_ms,
                    int32_t value, int32_t beside, bool heating);

#endif
