/* The controller on the bench: what it would read from pins comes from the kit, what it would drive goes there. The build
 * for the rig has this file not, and a main loop with pins in its place.
 */
#include "app.h"
#include "controller.h"

enum { TANK, SETPOINT, FLAME, RUN, RESET, N_INPUTS };
enum { GAS, SPARK, ALARM, N_OUTPUTS };
enum { SILENCE_MS = 2000 };

static const struct unlit_channel inputs[N_INPUTS] UNLIT_FLASH = {
    [TANK] = {"tank", UNLIT_MDEGC}, [SETPOINT] = {"setpoint", UNLIT_MDEGC}, [FLAME] = {"flame", UNLIT_BOOL},
    [RUN] = {"run", UNLIT_BOOL},    [RESET] = {"reset", UNLIT_BOOL},
};
static const struct unlit_channel outputs[N_OUTPUTS] UNLIT_FLASH = {
    [GAS] = {"gas", UNLIT_BOOL}, [SPARK] = {"spark", UNLIT_BOOL}, [ALARM] = {"alarm", UNLIT_BOOL},
};
static const char identity[] UNLIT_FLASH = "my-controller 0.1";
static int32_t values[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];
static struct controller controller;

struct unlit_kit app_kit;

static void on_start(struct unlit_kit *kit)
{
    controller_start(&controller, unlit_millis(kit));
}

static void on_step(struct unlit_kit *kit)
{
    struct controller_inputs in = {
        .tank = unlit_input(kit, TANK),
        .setpoint = unlit_input(kit, SETPOINT),
        .flame = unlit_input_on(kit, FLAME) != 0,
        .run = unlit_input_on(kit, RUN) != 0,
        .reset = unlit_input_on(kit, RESET) != 0,
        .silent = unlit_quiet_ms(kit) > SILENCE_MS,
    };
    controller_step(&controller, unlit_millis(kit), &in);
    unlit_set_output(kit, GAS, controller.gas);
    unlit_set_output(kit, SPARK, controller.spark);
    unlit_set_output(kit, ALARM, controller.alarm);
}

int app_begin(void)
{
    static const struct unlit_config config = {
        .identity = identity,
        .inputs = inputs,
        .outputs = outputs,
        .n_inputs = N_INPUTS,
        .n_outputs = N_OUTPUTS,
        .values = values,
        .put_byte = port_put_byte,
        .on_step = on_step,
        .on_go = on_start,
        .on_back = on_start,
    };
    return unlit_begin(&app_kit, &config);
}
