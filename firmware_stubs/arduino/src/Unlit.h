/* The kit in a sketch: begin() in setup(), poll() in loop(). unlit_kit.h says what each thing means.
 *
 *     enum { TANK, SETPOINT, N_INPUTS };
 *     enum { HEAT, N_OUTPUTS };
 *     const unlit_channel inputs[] PROGMEM = {{"tank", UNLIT_MDEGC}, {"setpoint", UNLIT_MDEGC}};
 *     const unlit_channel outputs[] PROGMEM = {{"heat", UNLIT_BOOL}};
 *     const char identity[] PROGMEM = "my-controller 1.0";
 *     void control();
 *     Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, control);
 *
 *     void setup() { bench.begin(Serial); }
 *     void loop() { bench.poll(); }
 *     void control() { bench.setOutput(HEAT, bench.input(TANK) < bench.input(SETPOINT) && bench.quietMs() < 2000); }
 *
 * Disconnect valve, igniter and heaters from the board before it goes on the bench.
 */
#ifndef UNLIT_H
#define UNLIT_H

#include <Arduino.h>
#include "unlit_kit.h"

/* One device on one serial port. Everything it needs is inside; one object a sketch is enough. */
template <uint8_t N_INPUTS, uint8_t N_OUTPUTS> class Unlit {
    static_assert(N_INPUTS <= UNLIT_CHANNELS_MAX && N_OUTPUTS <= UNLIT_CHANNELS_MAX, "more than 32 channels");

  public:
    typedef void (*Hook)();
    typedef int (*TypeHook)(const char *text);

    /* identity: PROGMEM text "NAME VERSION". inputs, outputs: PROGMEM tables, one row a channel. step: one turn of your
     * control loop, called once for each stimulus at millis(); unused in wall pace. */
    Unlit(const char *identity, const unlit_channel (&inputs)[N_INPUTS], const unlit_channel (&outputs)[N_OUTPUTS],
          Hook step)
        : kit_(), config_(), line_(nullptr), step_(step), go_(nullptr), back_(nullptr), end_(nullptr),
          type_(nullptr) {
        config_.identity = identity;
        config_.inputs = inputs;
        config_.outputs = outputs;
        config_.n_inputs = N_INPUTS;
        config_.n_outputs = N_OUTPUTS;
        config_.values = values_;
        config_.put_byte = putByte;
        config_.on_step = [](unlit_kit *kit) { call(of(kit)->step_); };
        config_.on_go = [](unlit_kit *kit) { call(of(kit)->go_); };
        config_.on_back = [](unlit_kit *kit) { call(of(kit)->back_); };
        config_.on_end = [](unlit_kit *kit) { call(of(kit)->end_); };
        config_.on_type = typed;
        config_.app = this;
    }

    /* Optional hooks, set before begin(): start as new; start as after a power cut; the run is over; a console line,
     * not 0 if it means something. */
    void onGo(Hook hook) { go_ = hook; }
    void onBack(Hook hook) { back_ = hook; }
    void onEnd(Hook hook) { end_ = hook; }
    void onType(TypeHook hook) { type_ = hook; }

    /* The board keeps its own clock and its own loop; call poll() in each turn of it. Set before begin(). */
    void wallPace() { config_.wall_pace = 1; }

    /* Open the port (Serial, Serial1, ...) and wait for the bench. Nothing else may print on this port. */
    template <class Port> void begin(Port &port, unsigned long baud = 115200) {
        port.begin(baud);
        line_ = &port;
        unlit_begin(&kit_, &config_);
    }

    /* Take what has arrived; the hooks are called from here. */
    void poll() {
        letInterruptsIn();
        for (int waiting = line_->available(); waiting > 0; waiting--)
            unlit_byte(&kit_, (uint8_t)line_->read());
        if (config_.wall_pace)
            unlit_poll(&kit_, ::millis());
    }

    /* Reading in its channel's unit, or UNLIT_NO_READING; whether a bool input is on. */
    int32_t input(uint8_t place) const { return unlit_input(&kit_, place); }
    bool inputOn(uint8_t place) const { return unlit_input_on(&kit_, place); }

    void setOutput(uint8_t place, int32_t value) { unlit_set_output(&kit_, place, value); }
    int32_t output(uint8_t place) const { return unlit_output(&kit_, place); }

    /* The bench's clock in lockstep pace; how long the bench has been silent; whether a run is on. */
    uint32_t millis() const { return unlit_millis(&kit_); }
    uint32_t quietMs() const { return unlit_quiet_ms(&kit_); }
    bool running() const { return unlit_running(&kit_); }

    /* A figure, a text, on the bench's record. */
    void tell(const char *name, int32_t value) { unlit_tell(&kit_, name, value); }
    void say(const char *text) { unlit_say(&kit_, text); }

  private:
    /* Nothing on a board, where loop() runs with interrupts on. An AVR in QEMU 7.2 that had them off for a moment, as the
     * core's Serial and millis() do, looks for a waiting one again only after a RETI: without it the sketch would go deaf. */
    static void letInterruptsIn() {
#ifdef __AVR__
        __asm__ __volatile__("rcall 1f\n\trjmp 2f\n1:\treti\n2:" ::: "memory");
#endif
    }
    static Unlit *of(unlit_kit *kit) { return static_cast<Unlit *>(kit->config->app); }
    static void call(Hook hook) {
        if (hook)
            hook();
    }
    static void putByte(unlit_kit *kit, uint8_t byte) { of(kit)->line_->write(byte); }
    static int typed(unlit_kit *kit, const char *text) { return of(kit)->type_ ? of(kit)->type_(text) : 0; }

    unlit_kit kit_;
    unlit_config config_;
    Stream *line_;
    Hook step_, go_, back_, end_;
    TypeHook type_;
    int32_t values_[UNLIT_VALUES(N_INPUTS, N_OUTPUTS)];
};

#endif
