/* A thermostat: one probe, one heat output, hysteresis; heat off when the probe fails or the bench falls silent.
 * control() is the same on the rig and on the bench; only where it reads and writes differs.
 * On the bench: unlit run extras/thermostat.toml --device LINK
 */
#define ON_THE_BENCH // take this line away for the build that goes on the rig

#ifdef ON_THE_BENCH
#include <Unlit.h>
enum { PROBE, SETPOINT, RUN, N_INPUTS };
enum { HEAT, ALARM, N_OUTPUTS };
const unlit_channel inputs[] PROGMEM = {{"probe", UNLIT_MDEGC}, {"setpoint", UNLIT_MDEGC}, {"run", UNLIT_BOOL}};
const unlit_channel outputs[] PROGMEM = {{"heat", UNLIT_BOOL}, {"alarm", UNLIT_BOOL}};
const char identity[] PROGMEM = "sketch-thermostat 1.0";
void begin(), control();
Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, control);

void setup() { bench.onGo(begin); bench.onBack(begin); bench.begin(Serial); }
void loop() { bench.poll(); }
bool probeFails() { return bench.input(PROBE) == UNLIT_NO_READING || bench.quietMs() > 2000; }
int32_t probe() { return bench.input(PROBE); }
int32_t setpoint() { return bench.input(SETPOINT); }
bool run() { return bench.inputOn(RUN) && setpoint() != UNLIT_NO_READING; }
void show(bool heat, bool alarm) { bench.setOutput(HEAT, heat); bench.setOutput(ALARM, alarm); }

#else
const uint8_t PROBE_PIN = A0, RUN_PIN = 4, HEAT_PIN = 5, ALARM_PIN = 6;
void begin(), control();

void setup() { pinMode(RUN_PIN, INPUT_PULLUP); pinMode(HEAT_PIN, OUTPUT); pinMode(ALARM_PIN, OUTPUT); begin(); }
void loop() { control(); delay(100); }
// A TMP36 at 5 V: 500 mV at 0 degC, 10 mV a degree. Below -40 or above 125 degC something is broken.
int32_t probe() { return analogRead(PROBE_PIN) * 5000L * 100 / 1023 - 50000; }
bool probeFails() { return probe() < -40000 || probe() > 125000; }
int32_t setpoint() { return 66000; }
bool run() { return digitalRead(RUN_PIN) == LOW; }
void show(bool heat, bool alarm) { digitalWrite(HEAT_PIN, heat); digitalWrite(ALARM_PIN, alarm); }
#endif

const int32_t HYSTERESIS = 500; // thousandths of a degree Celsius, as all temperatures here
bool heating;

void begin() { heating = false; }

void control() {
    bool alarm = probeFails();
    if (alarm || !run() || probe() >= setpoint())
        heating = false;
    else if (probe() <= setpoint() - HYSTERESIS)
        heating = true;
    show(heating, alarm);
}
