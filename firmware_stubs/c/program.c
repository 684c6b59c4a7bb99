/* The step program. */
#include "program.h"
#include "panel.h"

void program_stop(struct program *program)
{
    program->step = 0;
    program->reached = false;
    program->held_ms = 0;
}

/* Where the panel's values of the step in force begin. */
static const int32_t *step_inputs(const struct program *program, const int32_t *inputs)
{
    return inputs + IN_STEP1_SETPOINT + 2 * (program->step - 1);
}

/* A step without a set point ends the program. */
static int32_t setpoint_in_force(struct program *program, const int32_t *inputs, bool fahrenheit)
{
    int32_t value;
    if (program->step == PROGRAM_HANDED_OVER) {
        return 0;
    }
    value = panel_setpoint(step_inputs(program, inputs)[0], fahrenheit);
    if (value == 0) {
        program->step = PROGRAM_HANDED_OVER;
    }
    return value;
}

/* 1 if the step in force has been held for its time; `away` from its set point now. */
static bool step_over(struct program *program, const struct controller_config *config, int32_t passed_ms,
                      int32_t hold_ms, int32_t away)
{
    if (program->reached) {
        program->held_ms = timer_after(program->held_ms, passed_ms);
    } else if (-config->reach_band <= away && away <= config->reach_band) {
        program->reached = true;
        program->held_ms = 0;
    }
    return program->reached && program->held_ms >= hold_ms;
}

int32_t program_follow(struct program *program, const struct controller_config *config, int32_t passed_ms,
                       const int32_t *inputs, bool fahrenheit, int32_t measured, bool counts)
{
    int32_t value;
    if (program->step == 0) {
        program->step = 1;
    }
    value = setpoint_in_force(program, inputs, fahrenheit);
    if (value != 0 && counts &&
        step_over(program, config, passed_ms, step_inputs(program, inputs)[1], measured - value)) {
        program->reached = false;
        program->step++;
        value = setpoint_in_force(program, inputs, fahrenheit);
    }
    return value;
}
