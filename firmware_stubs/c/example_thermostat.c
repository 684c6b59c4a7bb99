/* A small thermostat behind the kit, to start your own from: one probe, one heat output, hysteresis, and heat off
 * when the probe fails or the bench falls silent. Build: `make example`.
 */
#include "app.h"

enum { PROBE, SETPOINT, RUN, N_INPUTS };
enum { HEAT, ALARM, N_OUTPUTS };
enum { HYSTERESIS_MDEGC = 500, SILENCE_MS = 2000 };

static const struct unlit_channel inputs[N_INPUTS] UNLIT_FLASH = {
    [PROBE] = {"probe", UNLIT_MDEGC},
    [SETPOINT] = {"setpoint", UNLIT_MDEGC},
    [RUN] = {"run", UNLIT_BOOL},
};
static const struct unlit_channel outputs[N_OUTPUTS] UNLIT_FLASH = {
    [HEAT] = {"heat", UNLIT_BOOL},
    [ALARM] = {"alarm", UNLIT_BOOL},
};
static const char identity[] UNLIT_FLASH = "thermostat 1.0";
static int32_t values[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];

struct unlit_kit app_kit;

/* One turn of the control loop. An alarm is told once, when it comes up. */
static void on_step(struct unlit_kit *kit) {
    int32_t probe = unlit_input(kit, PROBE), setpoint = unlit_input(kit, SETPOINT), heat = unlit_output(kit, HEAT);
    int alarm = probe == UNLIT_NO_READING || unlit_quiet_ms(kit) > SILENCE_MS;
    if (alarm && !unlit_output(kit, ALARM))
        unlit_say(kit, probe == UNLIT_NO_READING ? "probe without reading" : "line silent");
    if (alarm || setpoint == UNLIT_NO_READING || !unlit_input_on(kit, RUN) || probe >= setpoint)
        heat = 0;
    else if (probe <= setpoint - HYSTERESIS_MDEGC)
        heat = 1;
    unlit_set_output(kit, HEAT, heat);
    unlit_set_output(kit, ALARM, alarm);
}

int app_begin(void) {
    static const struct unlit_config config = {
        .identity = identity,
        .inputs = inputs,
        .outputs = outputs,
        .n_inputs = N_INPUTS,
        .n_outputs = N_OUTPUTS,
        .values = values,
        .put_byte = port_put_byte,
        .on_step = on_step,
    };
    return unlit_begin(&app_kit, &config);
}
