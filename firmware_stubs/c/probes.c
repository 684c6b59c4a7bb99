/* Is a probe's reading to be believed? */
#include "probes.h"

/* A reading older than this says nothing about the rate any more. A reference is renewed once it is as old as
 * the first. */
#define REFERENCE_RENEWED_MS 1000
#define REFERENCE_OLD_MS 2000

void probe_init(struct probe *probe)
{
    probe->reads = false;
    probe->has_reference = false;
    probe->lost_ms = 0;
    probe->reference = 0;
    probe->reference_ms = 0;
}

static void refer(struct probe *probe, int32_t value)
{
    probe->has_reference = true;
    probe->reference = value;
    probe->reference_ms = 0;
}

static uint8_t jump(struct probe *probe, const struct controller_config *config, int32_t value)
{
    int32_t change = value - probe->reference;
    if (-config->probe_jump <= change && change <= config->probe_jump) {
        return 0;
    }
    refer(probe, value);
    return 4;
}

static uint8_t unread(struct probe *probe, const struct controller_config *config, int32_t passed_ms, int32_t value)
{
    probe->reads = false;
    probe->lost_ms = timer_while(probe->lost_ms, passed_ms);
    if (probe->lost_ms < config->probe_lost_ms) {
        return 0;
    }
    return value == CONTROLLER_NO_READING ? 1 : 2;
}

uint8_t probe_step(struct probe *probe, const struct controller_config *config, int32_t passed_ms, int32_t value)
{
    uint8_t fault = 0;
    probe->reference_ms = timer_after(probe->reference_ms, passed_ms);
    if (value == CONTROLLER_NO_READING || value < config->probe_least || value > config->probe_most) {
        return unread(probe, config, passed_ms, value);
    }
    probe->reads = true;
    probe->lost_ms = -1;
    if (probe->has_reference && probe->reference_ms <= REFERENCE_OLD_MS) {
        fault = jump(probe, config, value);
    }
    if (!probe->has_reference || probe->reference_ms >= REFERENCE_RENEWED_MS) {
        refer(probe, value);
    }
    return fault;
}

static bool away(int32_t value, int32_t reference, int32_t band)
{
    int32_t change = value - reference;
    return change > band || change < -band;
}

void stillness_init(struct stillness *stillness)
{
    stillness->reference = 0;
    stillness->beside = 0;
    stillness->heated_ms = 0;
    stillness->full_ms = 0;
}

bool stillness_step(struct stillness *stillness, const struct controller_config *config, int32_t passed_ms,
                    int32_t value, int32_t beside, bool heating)
{
    if (!heating) {
        stillness->heated_ms = stillness->heated_ms > passed_ms ? stillness->heated_ms - passed_ms : 0;
        stillness->full_ms = 0;
        return false;
    }
    if (stillness->heated_ms == 0 || away(value, stillness->reference, config->frozen_band)) {
        stillness->reference = value;
        stillness->beside = beside;
        stillness->heated_ms = 1;
        stillness->full_ms = 0;
        return false;
    }
    stillness->heated_ms = timer_after(stillness->heated_ms, passed_ms);
    stillness->full_ms = timer_after(stillness->full_ms, passed_ms);
    if (value >= config->frozen_below) {
        return false;
    }
    return (stillness->heated_ms > config->frozen_ms && away(beside, stillness->beside, config->frozen_beside)) ||
           stillness->full_ms >= config->frozen_full_ms;
}
