/* The burner's sequence: check and purge, ignition trial, run. */
#include "burner.h"

void burner_init(struct burner *burner, bool power_cut)
{
    burner->stage = BURNER_OFF;
    burner->tries = 0;
    burner->unproved = power_cut;
    burner->shut_ms = 0;
    burner->dark_ms = -1;
    burner->seen_ms = -1;
    burner->missing_ms = -1;
    burner->trial_ms = 0;
}

static void watch_shut(struct burner *burner, int32_t passed_ms, int32_t flame)
{
    if (burner->stage >= BURNER_TRIAL) {
        burner->shut_ms = 0;
        burner->dark_ms = -1;
        return;
    }
    burner->shut_ms = timer_after(burner->shut_ms, passed_ms);
    burner->dark_ms = flame == 0 ? timer_while(burner->dark_ms, passed_ms) : -1;
}

bool burner_watch(struct burner *burner, const struct controller_config *config, int32_t passed_ms, int32_t flame)
{
    watch_shut(burner, passed_ms, flame);
    if (flame == 0 || flame == CONTROLLER_NO_READING) {
        burner->seen_ms = -1;
        burner->missing_ms = timer_while(burner->missing_ms, passed_ms);
        return false;
    }
    burner->seen_ms = timer_while(burner->seen_ms, passed_ms);
    burner->missing_ms = -1;
    return burner->seen_ms > config->stray_ms && burner->shut_ms > config->closing_ms;
}

static uint8_t failed(struct burner *burner, const struct controller_config *config, bool wanted)
{
    burner->unproved = true;
    burner->tries++;
    if (burner->tries >= config->tries) {
        burner->stage = BURNER_OFF;
        return 7;
    }
    burner->stage = wanted ? BURNER_PURGE : BURNER_OFF;
    return 0;
}

static uint8_t trial(struct burner *burner, const struct controller_config *config, bool wanted, bool permitted)
{
    if (!permitted) {
        return failed(burner, config, false);
    }
    if (burner->seen_ms >= config->prove_ms) {
        burner->stage = wanted ? BURNER_RUN : BURNER_OFF;
        burner->tries = 0;
        burner->unproved = false;
    } else if (burner->trial_ms >= config->trial_ms) {
        return failed(burner, config, wanted);
    }
    return 0;
}

static void approach(struct burner *burner, const struct controller_config *config)
{
    int32_t needed_ms = burner->unproved ? config->purge_again_ms : config->purge_ms;
    if (burner->dark_ms >= needed_ms) {
        burner->stage = BURNER_TRIAL;
        burner->trial_ms = 0;
    } else {
        burner->stage = BURNER_PURGE;
    }
}

uint8_t burner_step(struct burner *burner, const struct controller_config *config, int32_t passed_ms, bool wanted,
                    bool permitted)
{
    if (burner->stage == BURNER_TRIAL) {
        burner->trial_ms = timer_after(burner->trial_ms, passed_ms);
        return trial(burner, config, wanted, permitted);
    }
    if (!(wanted && permitted)) {
        burner->stage = BURNER_OFF;
    } else if (burner->stage != BURNER_RUN) {
        approach(burner, config);
    } else if (burner->missing_ms >= config->loss_ms) {
        burner->stage = BURNER_OFF;
        return 6;
    }
    return 0;
}
