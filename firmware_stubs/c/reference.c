/* The reference controller on the line: the core (controller.c) with the kit (unlit_kit.c).
 * Built with PANEL_DEGF defined (make PANEL=degF), the panel's set points are in degrees Fahrenheit. */
#include "app.h"
#include "controller.h"

#ifdef PANEL_DEGF
#define PANEL_UNIT UNLIT_MDEGF
#define PANEL_FAHRENHEIT true
#else
#define PANEL_UNIT UNLIT_MDEGC
#define PANEL_FAHRENHEIT false
#endif

static const char identity[] UNLIT_FLASH = "reference-c 0.1.0";

#define STEP(n)                                                                                                        \
    [IN_STEP1_SETPOINT + 2 * (n - 1)] = {"step" #n "_setpoint", PANEL_UNIT},                                           \
    [IN_STEP1_HOLD + 2 * (n - 1)] = {"step" #n "_hold", UNLIT_MS}

static const struct unlit_channel inputs[CONTROLLER_INPUTS] UNLIT_FLASH = {
    [IN_LIQUOR] = {"liquor", UNLIT_MDEGC},
    [IN_COIL_OUTLET] = {"coil_outlet", UNLIT_MDEGC},
    [IN_PUMP_INLET] = {"pump_inlet", UNLIT_MDEGC},
    [IN_LIMIT] = {"limit", UNLIT_MDEGC},
    [IN_FLAME] = {"flame", UNLIT_BOOL},
    [IN_FLOW] = {"flow", UNLIT_BOOL},
    [IN_RUN] = {"run", UNLIT_BOOL},
    [IN_RESET] = {"reset", UNLIT_BOOL},
    [IN_ESTOP] = {"estop", UNLIT_BOOL},
    [IN_MODE] = {"mode", UNLIT_COUNT},
    [IN_LIQUOR_SETPOINT] = {"liquor_setpoint", PANEL_UNIT},
    [IN_MASH_SETPOINT] = {"mash_setpoint", PANEL_UNIT},
    [IN_MANUAL] = {"manual", UNLIT_BOOL},
    [IN_MANUAL_DUTY] = {"manual_duty", UNLIT_PERMILLE},
    [IN_CYCLE_TIME] = {"cycle_time", UNLIT_MS},
    [IN_MASH_PROBE] = {"mash_probe", UNLIT_COUNT},
    STEP(1), STEP(2), STEP(3), STEP(4), STEP(5), STEP(6), STEP(7), STEP(8),
};

static const struct unlit_channel outputs[CONTROLLER_OUTPUTS] UNLIT_FLASH = {
    [OUT_GAS_VALVE] = {"gas_valve", UNLIT_BOOL}, [OUT_IGNITER] = {"igniter", UNLIT_BOOL},
    [OUT_PUMP] = {"pump", UNLIT_BOOL},           [OUT_ALARM] = {"alarm", UNLIT_BOOL},
    [OUT_DUTY] = {"duty", UNLIT_PERMILLE},       [OUT_STAGE] = {"stage", UNLIT_COUNT},
    [OUT_FAULT] = {"fault", UNLIT_COUNT},        [OUT_STEP] = {"step", UNLIT_COUNT},
};

static struct controller controller;
static uint8_t stored; /* what the non-volatile memory holds */

static void tell_calibration(struct unlit_kit *kit, const struct calibration *cal)
{
    const struct pid_gains *gains = &cal->gains[cal->place];
    unlit_tell(kit, "calibration", cal->phase);
    if (cal->phase == CALIBRATION_GAVE_UP) {
        unlit_tell(kit, "gave_up", cal->reason);
    } else if (cal->phase == CALIBRATION_FOUND) {
        unlit_tell(kit, "dead_time", cal->model.dead_time_ms);
        unlit_tell(kit, "slope", cal->model.slope);
        unlit_tell(kit, "gain", cal->model.gain);
        unlit_tell(kit, "time_constant", cal->model.time_constant_ms);
        unlit_tell(kit, "pid_gain", gains->gain);
        unlit_tell(kit, "pid_integral", gains->integral_ms);
    }
}

/* Show what the last step (or the start) made of the inputs, and keep what must outlive a power cut. */
static void publish(struct unlit_kit *kit)
{
    uint8_t place;
    if (controller.nv != stored && nv_write(controller.nv) == 0) {
        stored = controller.nv;
    }
    for (place = 0; place < CONTROLLER_OUTPUTS; place++) {
        unlit_set_output(kit, place, controller.outputs[place]);
    }
    if (controller.changed & CONTROLLER_FAULT_CHANGED) {
        unlit_tell(kit, "fault", controller.outputs[OUT_FAULT]);
    }
    if (controller.changed & CONTROLLER_STAGE_CHANGED) {
        unlit_tell(kit, "stage", controller.outputs[OUT_STAGE]);
    }
    if (controller.changed & CONTROLLER_STEP_CHANGED) {
        unlit_tell(kit, "step", controller.outputs[OUT_STEP]);
    }
    if (controller.changed & CONTROLLER_CALIBRATION_CHANGED) {
        tell_calibration(kit, &controller.calibration);
    }
}

/* What the memory holds; a memory that cannot be read counts as damaged, so that no lockout is lost. */
static void read_stored(void)
{
    if (nv_read(&stored) < 0) {
        stored = CONTROLLER_NV_DAMAGED;
    }
}

static void on_go(struct unlit_kit *kit)
{
    read_stored();
    controller_init(&controller, &controller_defaults, PANEL_FAHRENHEIT, unlit_millis(kit), 0, false);
    publish(kit);
}

static void on_back(struct unlit_kit *kit)
{
    read_stored();
    controller_init(&controller, &controller_defaults, PANEL_FAHRENHEIT, unlit_millis(kit), stored, true);
    publish(kit);
}

static void on_step(struct unlit_kit *kit)
{
    int32_t values[CONTROLLER_INPUTS];
    uint8_t place;
    for (place = 0; place < CONTROLLER_INPUTS; place++) {
        values[place] = unlit_input(kit, place);
    }
    controller_step(&controller, unlit_millis(kit), unlit_quiet_ms(kit), values);
    publish(kit);
}

struct unlit_kit app_kit;
static int32_t kit_values[UNLIT_VALUES(CONTROLLER_INPUTS, CONTROLLER_OUTPUTS)];

static const struct unlit_config config = {
    .identity = identity,
    .inputs = inputs,
    .outputs = outputs,
    .n_inputs = CONTROLLER_INPUTS,
    .n_outputs = CONTROLLER_OUTPUTS,
    .values = kit_values,
    .put_byte = port_put_byte,
    .on_go = on_go,
    .on_back = on_back,
    .on_step = on_step,
};

int app_begin(void)
{
    return unlit_begin(&app_kit, &config);
}
