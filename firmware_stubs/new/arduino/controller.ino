/* The controller on its pins, or on the bench: the same controller.c in both. */
#define ON_THE_BENCH // take this line away for the build that goes on the rig

#include "controller.h"

struct controller controller;
struct controller_inputs in;

#ifdef ON_THE_BENCH
#include "Unlit.h"
enum { TANK, SETPOINT, FLAME, RUN, RESET, N_INPUTS };
enum { GAS, SPARK, ALARM, N_OUTPUTS };
const unlit_channel inputs[] PROGMEM = {
    {"tank", UNLIT_MDEGC}, {"setpoint", UNLIT_MDEGC}, {"flame", UNLIT_BOOL}, {"run", UNLIT_BOOL}, {"reset", UNLIT_BOOL}};
const unlit_channel outputs[] PROGMEM = {{"gas", UNLIT_BOOL}, {"spark", UNLIT_BOOL}, {"alarm", UNLIT_BOOL}};
const char identity[] PROGMEM = "my-controller 0.1";
void turn();
Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, turn);

void start() { controller_start(&controller, bench.millis()); }

void setup() {
    bench.onGo(start);
    bench.onBack(start);
    bench.begin(Serial);
}

void loop() { bench.poll(); }

void turn() {
    in.tank = bench.input(TANK);
    in.setpoint = bench.input(SETPOINT);
    in.flame = bench.inputOn(FLAME);
    in.run = bench.inputOn(RUN);
    in.reset = bench.inputOn(RESET);
    in.silent = bench.quietMs() > 2000;
    controller_step(&controller, bench.millis(), &in);
    bench.setOutput(GAS, controller.gas);
    bench.setOutput(SPARK, controller.spark);
    bench.setOutput(ALARM, controller.alarm);
}

#else
const uint8_t TANK = A0, FLAME = 2, RUN = 3, RESET = 4, GAS = 5, SPARK = 6, ALARM = 7;
const int32_t SETPOINT = 66000;

// A TMP36 at 5 V: 500 mV at 0 degC, 10 mV a degree. Below -40 or above 125 degC something is broken.
int32_t tank() {
    int32_t reading = analogRead(TANK) * 5000L * 100 / 1023 - 50000;
    return reading < -40000 || reading > 125000 ? CONTROLLER_NO_READING : reading;
}

void setup() {
    for (uint8_t pin = FLAME; pin <= RESET; pin++)
        pinMode(pin, INPUT_PULLUP); // a contact to ground is on
    for (uint8_t pin = GAS; pin <= ALARM; pin++)
        pinMode(pin, OUTPUT);
    controller_start(&controller, millis());
}

void loop() {
    in.tank = tank();
    in.setpoint = SETPOINT;
    in.flame = digitalRead(FLAME) == LOW;
    in.run = digitalRead(RUN) == LOW;
    in.reset = digitalRead(RESET) == LOW;
    controller_step(&controller, millis(), &in);
    digitalWrite(GAS, controller.gas);
    digitalWrite(SPARK, controller.spark);
    digitalWrite(ALARM, controller.alarm);
}
#endif
