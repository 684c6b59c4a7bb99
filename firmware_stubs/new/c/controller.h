/* A thermostat with a burner guard: inputs and a clock in, outputs out. It knows no pin and no line, so the build for the
 * rig and the build for the bench have it in common. No certified flame safeguard, and no stand-in for one.
 */
#ifndef CONTROLLER_H
#define CONTROLLER_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define CONTROLLER_NO_READING INT32_MIN /* an open circuit, a failed read */

/* Temperatures are thousandths of a degree Celsius. */
struct controller_inputs {
    int32_t tank, setpoint;
    bool flame, run, reset;
    bool silent; /* what gives the inputs has fallen silent: they are stale */
};

enum controller_stage { STAGE_SHUT, STAGE_TRIAL, STAGE_BURNING, STAGE_LOCKOUT };

struct controller {
    bool gas, spark, alarm; /* the outputs, in force from the last step on */
    enum controller_stage stage;
    uint32_t since_ms; /* the stage was entered */
    uint32_t dark_ms;  /* a flame was last seen */
    bool reset_before;
};

/* Start with all off. */
void controller_start(struct controller *c, uint32_t now_ms);

/* One turn; now_ms may roll over. */
void controller_step(struct controller *c, uint32_t now_ms, const struct controller_inputs *in);

#ifdef __cplusplus
}
#endif
#endif
