/* The step program: up to 8 steps of a set point and a hold time, then the hand-over to the liquor loop. */
#ifndef PROGRAM_H
#define PROGRAM_H

#include <stdbool.h>
#include <stdint.h>
#include "controller_config.h"

#define PROGRAM_HANDED_OVER 9

struct program {
    uint8_t step; /* 0 without a program, 1 to 8 for the step in force, 9 after the hand-over */
    bool reached;
    int32_t held_ms;
};

/* There is no program (any more); the next start begins at step 1. */
void program_stop(struct program *program);

/* Set point in force [m°C], 0 after the hand-over. `inputs` are all of the controller's; `measured` [m°C] counts
 * only with `counts`: without, the program's time stands still. */
int32_t program_follow(struct program *program, const struct controller_config *config, int32_t passed_ms,
                       const int32_t *inputs, bool fahrenheit, int32_t measured, bool counts);

#endif
