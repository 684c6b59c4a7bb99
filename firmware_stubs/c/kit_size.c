/* For `make size` only: a typical table, 16 inputs and 8 outputs, and a call of every function of the kit. Built once
 * more with BARE it is start-up and tables alone, which are taken off. */
#include "unlit_kit.h"

enum { N_INPUTS = 16, N_OUTPUTS = 8 };

static const struct unlit_channel inputs[N_INPUTS] UNLIT_FLASH = {{"probe", UNLIT_MDEGC}};
static const struct unlit_channel outputs[N_OUTPUTS] UNLIT_FLASH = {{"heat", UNLIT_BOOL}};
volatile uint8_t line_port;                 /* stands for a board's UART */
const struct unlit_channel *volatile kept; /* or the linker would drop the tables */

#ifndef BARE
static const char identity[] UNLIT_FLASH = "size 1";
static int32_t values[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];
static struct unlit_kit kit;

static void put_byte(struct unlit_kit *to, uint8_t byte) {
    (void)to;
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

static void use_kit(void) {
    (void)unlit_begin(&kit, &config);
    for (;;) {
        unlit_byte(&kit, line_port);
        unlit_poll(&kit, line_port);
        unlit_set_output(&kit, line_port, unlit_input(&kit, line_port));
        unlit_tell(&kit, "on", line_port);
        unlit_say(&kit, "on");
    }
}
#endif

int main(void) {
    kept = inputs;
    kept = outputs;
    line_port = 0;
#ifndef BARE
    use_kit();
#endif
    return 0;
}
