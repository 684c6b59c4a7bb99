/* What the numbers of the panel mean. */
#include "panel.h"
#include "controller_config.h"

#define SETPOINT_MOST 90000
#define CYCLE_LEAST_MS 4000
#define CYCLE_MOST_MS 120000
#define CYCLE_USUAL_MS 30000
/* Above every set point in either degree; keeps the arithmetic inside 32 bits. */
#define PANEL_MOST 300000

bool panel_is_on(int32_t value)
{
    return value != 0 && value != CONTROLLER_NO_READING;
}

int32_t panel_setpoint(int32_t value, bool fahrenheit)
{
    int32_t tenths;
    if (value < 50) {
        return 0;
    }
    tenths = ((value < PANEL_MOST ? value : PANEL_MOST) + 50) / 100 * 100;
    if (fahrenheit) {
        tenths -= 32000;
        if (tenths <= 0) {
            return 0;
        }
        tenths = (10 * tenths + 9) / 18;
    }
    return tenths < SETPOINT_MOST ? tenths : SETPOINT_MOST;
}

int32_t panel_cycle_ms(int32_t value)
{
    if (value == CONTROLLER_NO_READING) {
        return CYCLE_USUAL_MS;
    }
    if (value < CYCLE_LEAST_MS) {
        return CYCLE_LEAST_MS;
    }
    return value < CYCLE_MOST_MS ? value : CYCLE_MOST_MS;
}

int16_t panel_duty(int32_t value)
{
    if (value < 0) {
        return 0;
    }
    return (int16_t)(value < 1000 ? value : 1000);
}
