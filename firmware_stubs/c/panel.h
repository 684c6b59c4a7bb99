/* What the numbers of the panel mean: places of the channels, defaults, bounds, degrees. */
#ifndef PANEL_H
#define PANEL_H

#include <stdbool.h>
#include <stdint.h>

enum controller_input {
    IN_LIQUOR,
    IN_COIL_OUTLET,
    IN_PUMP_INLET,
    IN_LIMIT,
    IN_FLAME,
    IN_FLOW,
    IN_RUN,
    IN_RESET,
    IN_ESTOP,
    IN_MODE,
    IN_LIQUOR_SETPOINT,
    IN_MASH_SETPOINT,
    IN_MANUAL,
    IN_MANUAL_DUTY,
    IN_CYCLE_TIME,
    IN_MASH_PROBE,
    IN_STEP1_SETPOINT,
    IN_STEP1_HOLD,
    CONTROLLER_INPUTS = 32 /* eight steps of a set point and a hold time */
};

enum controller_mode { MODE_LIQUOR, MODE_MASH, MODE_PROGRAM, MODE_CALIBRATION };

/* 1 if a switch is on; without a reading it is off. */
bool panel_is_on(int32_t value);

/* Set point [m°C] from the panel's value in thousandths of its own degree; 0: none. */
int32_t panel_setpoint(int32_t value, bool fahrenheit);

/* Cycle time [ms] from the panel's value. */
int32_t panel_cycle_ms(int32_t value);

/* Duty [permille] from the panel's value. */
int16_t panel_duty(int32_t value);

#endif
