/* The reference controller's core: inputs and a clock in, outputs out. CONTROLLER.md is what it does.
 *
 * No input, output, heap, float or clock of its own; the caller owns the state, main loop only. python/controller.py
 * is the same to the last bit: change both.
 */
#ifndef CONTROLLER_H
#define CONTROLLER_H

#include <stdbool.h>
#include <stdint.h>
#include "burner.h"
#include "calibration.h"
#include "controller_config.h"
#include "loops.h"
#include "panel.h"
#include "probes.h"
#include "program.h"

enum controller_output {
    OUT_GAS_VALVE,
    OUT_IGNITER,
    OUT_PUMP,
    OUT_ALARM,
    OUT_DUTY,
    OUT_STAGE,
    OUT_FAULT,
    OUT_STEP,
    CONTROLLER_OUTPUTS
};

enum controller_fault {
    FAULT_NONE,
    FAULT_PROBE_OPEN,
    FAULT_PROBE_RANGE,
    FAULT_PROBE_FROZEN,
    FAULT_PROBE_RATE,
    FAULT_HIGH_LIMIT,
    FAULT_FLAME_LOST,
    FAULT_NO_FLAME,
    FAULT_STRAY_FLAME,
    FAULT_NO_FLOW,
    FAULT_SILENT,
    FAULT_STOPPED,
    FAULT_NV_DAMAGED
};

#define CONTROLLER_LOCKOUT_STAGE 4
#define CONTROLLER_NV_DAMAGED 0xFF

/* Bits of `changed`. */
enum {
    CONTROLLER_FAULT_CHANGED = 1,
    CONTROLLER_STAGE_CHANGED = 2,
    CONTROLLER_STEP_CHANGED = 4,
    CONTROLLER_CALIBRATION_CHANGED = 8
};

struct controller {
    const struct controller_config *config;
    uint32_t now_ms;
    uint16_t faults;    /* a bit each: bit 1 is fault 1 */
    uint8_t fault;      /* the first that stands */
    uint8_t nv;         /* the non-volatile byte as it should be */
    uint8_t changed;    /* what the last step (or the start) changed */
    bool fahrenheit;
    bool started;
    bool run_was, reset_was;
    bool believed;
    bool pump, flow;
    int32_t pump_ms;
    int32_t flow_ms; /* since `flow` changed, while the pump is on */
    struct probe probes[4];
    struct stillness stillness;
    struct burner burner;
    struct loops loops;
    struct loops_order order;
    struct program program;
    struct calibration calibration;
    int16_t outputs[CONTROLLER_OUTPUTS]; /* in force from the last step on */
};

/* Start. `config` must outlive it; nv is the stored byte, 0 if none, CONTROLLER_NV_DAMAGED if damaged; power_cut 0 for
 * a start as new. */
void controller_init(struct controller *controller, const struct controller_config *config, bool fahrenheit,
                     uint32_t now_ms, uint8_t nv, bool power_cut);

/* One turn at the clock now_ms (rolls over at 2^32). quiet_ms is how long the line has been silent; inputs are
 * CONTROLLER_INPUTS values in the channels' order and units. */
void controller_step(struct controller *controller, uint32_t now_ms, uint32_t quiet_ms, const int32_t *inputs);

#endif
