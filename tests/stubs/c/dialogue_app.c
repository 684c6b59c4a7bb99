/* The application of the dialogue tests: it shows on the line what the kit gives to firmware. tests/stubs/dialogue_app.py
 * does the same in Python. Built with WALL_PACE it has its own clock, which `type poll MS` sets.
 */
#include <stdlib.h>
#include <string.h>
#include "app.h"

enum { PROBE, RUN, RAW, N_INPUTS };
enum { HEAT, DUTY, COPY, N_OUTPUTS };

static const struct unlit_channel inputs[N_INPUTS] UNLIT_FLASH = {
    [PROBE] = {"probe", UNLIT_MDEGC},
    [RUN] = {"run", UNLIT_BOOL},
    [RAW] = {"a234567890123456789012_4", UNLIT_ADC(10)},
};
static const struct unlit_channel outputs[N_OUTPUTS] UNLIT_FLASH = {
    [HEAT] = {"heat", UNLIT_BOOL},
    [DUTY] = {"duty", UNLIT_PERMILLE},
    [COPY] = {"copy", UNLIT_COUNT},
};
static const char identity[] UNLIT_FLASH = "dialogue 1.0";
static int32_t values[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];
static int steps;

struct unlit_kit app_kit;

/* A time as a value, which has a bit less. */
static int32_t held(uint32_t ms) {
    return ms < INT32_MAX ? (int32_t)ms : INT32_MAX;
}

static void on_go(struct unlit_kit *kit) {
    steps = 0;
    unlit_set_output(kit, DUTY, 250);
    unlit_say(kit, "go");
}

static void on_back(struct unlit_kit *kit) {
    steps = 0;
    unlit_say(kit, "back");
}

static void on_end(struct unlit_kit *kit) {
    unlit_set_output(kit, DUTY, 999);
    unlit_say(kit, unlit_running(kit) ? "running at end" : "end");
}

static void on_step(struct unlit_kit *kit) {
    unlit_set_output(kit, HEAT, unlit_input_on(kit, RUN));
    unlit_set_output(kit, DUTY, ++steps);
    unlit_set_output(kit, COPY, unlit_input(kit, PROBE));
    if (unlit_quiet_ms(kit) > 1000)
        unlit_tell(kit, "quiet", held(unlit_quiet_ms(kit)));
}

static int on_type(struct unlit_kit *kit, const char *text) {
    if (strncmp(text, "say ", 4) == 0)
        unlit_say(kit, text + 4);
    else if (strncmp(text, "tell ", 5) == 0)
        unlit_tell(kit, text + 5, unlit_input(kit, PROBE));
    else if (strncmp(text, "poll ", 5) == 0)
        unlit_poll(kit, (uint32_t)strtoul(text + 5, 0, 10));
    else if (strncmp(text, "copy ", 5) == 0)
        unlit_set_output(kit, COPY, (int32_t)strtol(text + 5, 0, 10));
    else if (strcmp(text, "clock") == 0)
        unlit_tell(kit, "clock", held(unlit_millis(kit)));
    else if (strcmp(text, "quiet") == 0)
        unlit_tell(kit, "quiet", held(unlit_quiet_ms(kit)));
    else
        return 0;
    return 2;
}

int app_begin(void) {
    static const struct unlit_config config = {
        .identity = identity,
        .inputs = inputs,
        .outputs = outputs,
        .n_inputs = N_INPUTS,
        .n_outputs = N_OUTPUTS,
#ifdef WALL_PACE
        .wall_pace = 1,
#endif
        .values = values,
        .put_byte = port_put_byte,
        .on_go = on_go,
        .on_back = on_back,
        .on_step = on_step,
        .on_end = on_end,
        .on_type = on_type,
    };
    return unlit_begin(&app_kit, &config);
}
