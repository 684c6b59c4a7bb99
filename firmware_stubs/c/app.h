/* Between a port (port_*.c: one board or host) and an application (reference.c, example_thermostat.c).
 *
 * The application gives app_kit and app_begin(); the port gives the rest and the main loop:
 *     power-up -> app_begin() -> for ever: unlit_byte(&app_kit, each received byte)
 */
#ifndef APP_H
#define APP_H

#include <stdint.h>
#include "unlit_kit.h"

/* Application. */
extern struct unlit_kit app_kit;
/* Start as from power-up: all state new, then unlit_begin(&app_kit, ...) with put_byte = port_put_byte. Non-volatile
 * memory is left alone. May be called again at any time (power cut on the bench). 0, or the error of unlit_begin(). */
int app_begin(void);

/* Port. */
void port_put_byte(struct unlit_kit *kit, uint8_t byte);
/* One byte of non-volatile memory. 1: read; 0: nothing was ever stored, *byte is 0; -1: damaged, *byte is 0. */
int nv_read(uint8_t *byte);
/* 0: stored; -1: failed. Write on change only: an EEPROM cell wears out (100 000 writes on an ATmega328P). */
int nv_write(uint8_t byte);

#endif
