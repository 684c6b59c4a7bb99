/* From a value on the line to what a register or a chip takes. Integers only; no register is touched here. */
#ifndef SIGNALS_H
#define SIGNALS_H

#include <stdint.h>

/* A period of the pulse-width modulation, in turns of the 16 MHz clock: 3906.25 Hz, 12 bits. */
#define PWM_TICKS 4096

/* Ticks of a period for which the output is high, 0 to PWM_TICKS, so that a 10-bit converter on the same supply reads
 * `counts` (held to 0 to 1023): the middle of the step. Source: ATmega328P data sheet, ADC = Vin * 1024 / Vref. */
uint16_t pwm_ticks_of_counts(int32_t counts);

/* The same for a voltage in uV, held to 0 to `supply_uv`. */
uint16_t pwm_ticks_of_uv(int32_t uv, int32_t supply_uv);

/* An 8-bit digital potentiometer as a variable resistor, with what is soldered around it:
 *     series + parallel || (wiper + end to end * code / 256)
 * parallel 0: none. Source of the inner part: data sheets of such chips, R_WB = R_AB * D / 256 + R_W. */
struct resistor {
    int32_t end_to_end_mohm, wiper_mohm, series_mohm, parallel_mohm;
};

/* A pin that is watched, and when it was last seen as it is held to be. */
struct pin {
    uint8_t is_on;
    uint32_t since_ms;
};

/* Take in a look at the pin at `now_ms`; whether it is on. A change counts once it has been seen for `settle_ms`. */
uint8_t settled(struct pin *it, uint8_t is_on, uint32_t now_ms, uint32_t settle_ms);

/* The code, 0 to 255, whose resistance is nearest in the potentiometer; what it cannot reach becomes its nearest end. */
uint8_t wiper_code(const struct resistor *it, int32_t mohm);

#endif
