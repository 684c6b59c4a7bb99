/* The burner's sequence: check and purge, ignition trial, run.
 *
 *     OFF --heat wanted--> PURGE --purged--> TRIAL --flame proved--> RUN
 *      ^--no longer wanted, or not allowed--'        |               |
 *      |--trial over without proof (fault 7 after the last try)      |
 *      '--flame lost (fault 6), not wanted, not allowed--------------'
 *
 * A trial is carried to its end although the loop wants no more heat: cut short again and again, a slow burner
 * would only blow unburned gas. What takes the permit away (a stop, a fault, the high limit) ends it at once.
 */
#ifndef BURNER_H
#define BURNER_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"

enum burner_stage { BURNER_OFF, BURNER_PURGE, BURNER_TRIAL, BURNER_RUN };

/* The valve is open in TRIAL and RUN, the igniter on in TRIAL. */
struct burner {
    uint8_t stage; /* enum burner_stage */
    uint8_t tries;
    bool unproved;      /* the last opening ended without a proved flame, or nobody knows how */
    int32_t shut_ms;    /* valve shut */
    int32_t dark_ms;    /* valve shut and no flame; -1: not so */
    int32_t seen_ms;    /* flame seen without a gap; -1: not seen */
    int32_t missing_ms; /* flame not seen; -1: seen */
    int32_t trial_ms;
};

void burner_init(struct burner *burner, bool power_cut);

/* Count the times up to now; `flame` is CONTROLLER_NO_READING when there is no signal, which is neither flame nor
 * dark. 1: flame where none can be (fault 8). */
bool burner_watch(struct burner *burner, const struct controller_config *config, int32_t passed_ms, int32_t flame);

/* Move the sequence on, after burner_watch(); returns the fault it ran into: 0, 6 or 7. */
uint8_t burner_step(struct burner *burner, const struct controller_config *config, int32_t passed_ms, bool wanted,
                    bool permitted);

#endif
