/* The reference controller's constants. */
#include "controller_config.h"

const struct controller_config controller_defaults = {
    /* Tuned on the plant herms-gas. */
    .gains =
        {
            {.gain = 250, .integral_ms = 2400000, .derivative_ms = 60000, .filter_ms = 20000},
            {.gain = 250, .integral_ms = 2400000, .derivative_ms = 180000, .filter_ms = 30000},
        },
    .pulse_least_ms = 2000,
    .liquor_most = 90000,
    .liquor_band = 1000,
    .least_on_ms = 20000,
    .least_off_ms = 20000,
    .ceiling_above = 15000,
    .reach_band = 500,
    .purge_ms = 5000,
    .purge_again_ms = 15000,
    .trial_ms = 8000,
    .prove_ms = 500,
    .loss_ms = 1000,
    .tries = 3,
    .stray_ms = 2000,
    .closing_ms = 3000,
    .limit_trip = 92000,
    .limit_reset = 87000,
    .probe_least = -10000,
    .probe_most = 115000,
    .probe_lost_ms = 2000,
    .probe_jump = 10000,
    .frozen_band = 100,
    .frozen_ms = 180000,
    .frozen_below = 95000,
    .flow_settle_ms = 3000,
    .flow_lost_ms = 5000,
    .pump_start_ms = 10000,
    .silence_ms = 2000,
};
