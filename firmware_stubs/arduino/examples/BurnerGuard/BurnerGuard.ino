/* A burner guard: it lights a gas burner when heat is called for, watches the flame, and locks out when the flame does not
 * come, goes out, or stands where none should. A lockout ends when a person presses reset.
 *
 * It shows how such firmware meets the bench; it is no certified flame safeguard and must not stand in for one. A power
 * cut clears its lockout; the reference controller in C keeps it in EEPROM.
 * On the bench: unlit run extras/burner-guard.toml --device LINK
 */
#define ON_THE_BENCH // take this line away for the build that goes on the rig

#ifdef ON_THE_BENCH
#include <Unlit.h>
enum { HEAT_CALL, FLAME, RESET, N_INPUTS };
enum { GAS, SPARK, ALARM, N_OUTPUTS };
const unlit_channel inputs[] PROGMEM = {{"call", UNLIT_BOOL}, {"flame", UNLIT_BOOL}, {"reset", UNLIT_BOOL}};
const unlit_channel outputs[] PROGMEM = {{"gas", UNLIT_BOOL}, {"spark", UNLIT_BOOL}, {"alarm", UNLIT_BOOL}};
const char identity[] PROGMEM = "sketch-burner-guard 1.0";
void begin(), guard();
Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, guard);

void setup() { bench.onGo(begin); bench.onBack(begin); bench.begin(Serial); }
void loop() { bench.poll(); }
uint32_t now() { return bench.millis(); }
bool lost() { return bench.quietMs() > 2000; }
bool called() { return bench.inputOn(HEAT_CALL); }
bool flame() { return bench.inputOn(FLAME); }
bool resetPressed() { return bench.inputOn(RESET); }
void drive(uint8_t output, bool on) { bench.setOutput(output, on); }

#else
const uint8_t CALL_PIN = 2, FLAME_PIN = 3, RESET_PIN = 4, GAS = 5, SPARK = 6, ALARM = 7;
void begin(), guard();

void setup() {
    for (uint8_t pin = CALL_PIN; pin <= RESET_PIN; pin++)
        pinMode(pin, INPUT_PULLUP);
    for (uint8_t pin = GAS; pin <= ALARM; pin++)
        pinMode(pin, OUTPUT);
    begin();
}
void loop() { guard(); }
uint32_t now() { return millis(); }
bool lost() { return false; }
bool called() { return digitalRead(CALL_PIN) == LOW; }
bool flame() { return digitalRead(FLAME_PIN) == LOW; }
bool resetPressed() { return digitalRead(RESET_PIN) == LOW; }
void drive(uint8_t output, bool on) { digitalWrite(output, on); }
#endif

const uint32_t PURGE_MS = 5000;  // dark and shut that long before each trial: unburned gas drifts away
const uint32_t TRIAL_MS = 10000; // at most 15 s by 46 CFR 62.35-20(a)(6)
enum { SHUT, TRIAL, BURNING, LOCKOUT } stage;
uint32_t since, dark; // this stage was entered; the last moment at which a flame was seen
bool resetBefore;

void enter(int next) {
    stage = (decltype(stage))next;
    since = now();
}

void begin() {
    enter(SHUT);
    dark = since;
    resetBefore = true; // a button held from the first is no reset
}

void whileShut() {
    if (flame() && now() - since > PURGE_MS)
        enter(LOCKOUT); // a flame with the valve shut: the valve leaks or the flame sensor lies
    else if (called() && now() - dark >= PURGE_MS && now() - since >= PURGE_MS)
        enter(TRIAL);
}

void whileInTrial() {
    if (flame())
        enter(BURNING);
    else if (now() - since >= TRIAL_MS)
        enter(LOCKOUT);
}

void guard() {
    bool pressed = resetPressed() && !resetBefore;
    resetBefore = resetPressed();
    if (flame())
        dark = now();
    if (stage == LOCKOUT && pressed)
        enter(SHUT);
    else if (stage == SHUT)
        whileShut();
    else if (stage != LOCKOUT && (!called() || lost()))
        enter(SHUT);
    else if (stage == TRIAL)
        whileInTrial();
    else if (stage == BURNING && !flame())
        enter(LOCKOUT);
    drive(GAS, stage == TRIAL || stage == BURNING);
    drive(SPARK, stage == TRIAL);
    drive(ALARM, stage == LOCKOUT);
}
