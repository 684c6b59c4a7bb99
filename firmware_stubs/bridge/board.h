/* The bridge's pins and clock; board_atmega328p.c has them. Everything is at rest after board_begin(): signals open,
 * switches off, controller not in reset. */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

void board_begin(void);

/* High for `ticks` of PWM_TICKS; or open: no voltage is driven. */
void board_analog(uint16_t ticks);
void board_analog_open(void);

/* Potentiometer 0 or 1: its wiper, and whether it is connected. */
void board_resistor(uint8_t which, uint8_t code);
void board_resistor_open(uint8_t which);

void board_flame(uint8_t is_on);
void board_flow(uint8_t is_on);
void board_reset(uint8_t held);

/* 1: the controller has its gas valve (0), igniter (1) or pump (2) on. */
uint8_t board_controller_has_on(uint8_t which);

/* The line: 115200 baud, 8 data bits, no parity, one stop bit. */
void board_put_byte(uint8_t byte);
/* 1: *byte is the next byte received; 0: none has come. */
uint8_t board_take_byte(uint8_t *byte);

/* Milliseconds since power-up, rolls over at 2^32. */
uint32_t board_ms(void);
/* Returns when board_ms() has come to `ms`; at once if that is past. */
void board_wait_until(uint32_t ms);

#endif
