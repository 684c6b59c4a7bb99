/* The bridge: a device on the bench's line that is not the controller but stands around it. Its inputs become electrical
 * signals for the controller's probes and switches, its outputs are what the controller does with its pins.
 *
 * The controller keeps its own time, so the line is in wall pace: what changes at the pins is told at once.
 */
#include "board.h"
#include "unlit_kit.h"
#include "wiring.h"

enum { ANALOG, RESISTOR_0, RESISTOR_1, FLAME, FLOW, N_INPUTS };
enum { GAS_VALVE, IGNITER, PUMP, N_OUTPUTS };

#ifdef ANALOG_UV
#define ANALOG_UNIT UNLIT_UV
#define analog_ticks(value) pwm_ticks_of_uv((value), SUPPLY_UV)
#else
#define ANALOG_UNIT UNLIT_ADC(10)
#define analog_ticks(value) pwm_ticks_of_counts(value)
#endif

static const struct unlit_channel inputs[N_INPUTS] UNLIT_FLASH = {
    [ANALOG] = {"analog", ANALOG_UNIT},      [RESISTOR_0] = {"thermistor", UNLIT_MOHM},
    [RESISTOR_1] = {"pt1000", UNLIT_MOHM},   [FLAME] = {"flame", UNLIT_BOOL},
    [FLOW] = {"flow", UNLIT_BOOL},
};
/* In the order of board_controller_has_on(). */
static const struct unlit_channel outputs[N_OUTPUTS] UNLIT_FLASH = {
    [GAS_VALVE] = {"gas_valve", UNLIT_BOOL},
    [IGNITER] = {"igniter", UNLIT_BOOL},
    [PUMP] = {"pump", UNLIT_BOOL},
};
static const char identity[] UNLIT_FLASH = "bridge 1.0";
static const struct resistor resistors[2] = {THERMISTOR, PT1000};
static int32_t values[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];
static int32_t driven[N_INPUTS]; /* as the signals are now */
static struct pin pins[N_OUTPUTS];
static struct unlit_kit kit;

static void drive_analog(int32_t value) {
    if (value == UNLIT_NO_READING)
        board_analog_open();
    else
        board_analog(analog_ticks(value));
}

static void drive_resistor(uint8_t which, int32_t mohm) {
    if (mohm == UNLIT_NO_READING)
        board_resistor_open(which);
    else
        board_resistor(which, wiper_code(&resistors[which], mohm));
}

static void drive(uint8_t place, int32_t value) {
    uint8_t is_on = value != UNLIT_NO_READING && value != 0;
    driven[place] = value;
    if (place == ANALOG)
        drive_analog(value);
    else if (place == RESISTOR_0 || place == RESISTOR_1)
        drive_resistor(place == RESISTOR_1, value);
    else if (place == FLAME)
        board_flame(is_on);
    else
        board_flow(is_on);
}

/* Without a run, and when the bench has fallen silent, all is as if unplugged: open circuits, switches off. */
static void drive_changes(void) {
    uint8_t place, is_live = unlit_running(&kit) && unlit_quiet_ms(&kit) <= QUIET_MS;
    for (place = 0; place < N_INPUTS; place++) {
        int32_t value = is_live ? unlit_input(&kit, place) : UNLIT_NO_READING;
        if (value != driven[place])
            drive(place, value);
    }
}

static void watch_pins(void) {
    uint8_t place;
    for (place = 0; place < N_OUTPUTS; place++)
        unlit_set_output(&kit, place, settled(&pins[place], board_controller_has_on(place), board_ms(), SETTLE_MS));
}

/* The controller starts new, with nothing on its probes. */
static void on_start(struct unlit_kit *to) {
    uint32_t now = board_ms();
    uint8_t place;
    (void)to;
    drive_changes();
    board_reset(1);
    board_wait_until(now + RESET_MS);
    board_reset(0);
    board_wait_until(now + RESET_MS + BOOT_MS);
    for (place = 0; place < N_OUTPUTS; place++)
        pins[place] = (struct pin){.is_on = board_controller_has_on(place), .since_ms = board_ms()};
    watch_pins();
}

static void put_byte(struct unlit_kit *to, uint8_t byte) {
    (void)to;
    board_put_byte(byte);
}

static const struct unlit_config config = {
    .identity = identity,
    .inputs = inputs,
    .outputs = outputs,
    .n_inputs = N_INPUTS,
    .n_outputs = N_OUTPUTS,
    .values = values,
    .put_byte = put_byte,
    .on_go = on_start,
    .on_back = on_start,
    .wall_pace = 1,
};

int main(void) {
    uint8_t place, byte;
    board_begin();
    if (unlit_begin(&kit, &config) != UNLIT_OK)
        return 1;
    for (place = 0; place < N_INPUTS; place++)
        drive(place, UNLIT_NO_READING);
    for (;;) {
        unlit_poll(&kit, board_ms());
        if (board_take_byte(&byte))
            unlit_byte(&kit, byte);
        drive_changes();
        watch_pins();
    }
}
