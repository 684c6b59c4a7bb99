/* For `make size` only: a typical table, 16 inputs and 8 outputs, and a call of every function of the kit. Built once
 * more with BARE, without the kit, it gives the flash of start-up and tables, which is taken off. */
#include "unlit_kit.h"

enum { N_INPUTS = 16, N_OUTPUTS = 8 };

static const struct unlit_channel inputs[N_INPUTS] UNLIT_FLASH = {{"probe", UNLIT_MDEGC}};
static const struct unlit_channel outputs[N_OUTPUTS] UNLIT_FLASH = {{"heat", UNLIT_BOOL}};
static const char identity[] UNLIT_FLASH = "size 1";
static int32_t values[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];

volatile uint8_t line_port; /* stands for a board's UART */

static void put_byte(struct unlit_kit *kit, uint8_t byte) {
    (void)kit;
    line_port = byte;
}

static const struct unlit_config config = {
    .identity = identity,
    .inputs = inputs,
    .outputs = outputs,
    .n_inputs = N_INPUTS,
    .n_outputs = N_OUTPUTS,
    .values = values,
    .put_byte = put_byte,
};

#ifdef BARE
const struct unlit_config *volatile kept; /* or the linker would drop the tables */

int main(void) {
    for (;;)
        kept = &config;
}
#else
static struct unlit_kit kit;

int main(void) {
    (void)unlit_begin(&kit, &config);
    for (;;) {
        unlit_byte(&kit, line_port);
        unlit_poll(&kit, unlit_quiet_ms(&kit));
        unlit_set_output(&kit, 0, unlit_input(&kit, 0));
        unlit_tell(&kit, "on", unlit_input_on(&kit, 1));
        unlit_say(&kit, "on");
    }
}
#endif
