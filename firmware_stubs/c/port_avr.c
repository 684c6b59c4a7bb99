/* ATmega328P port: the line on USART0 at 115200 baud, 8 data bits, no parity, one stop bit, 16 MHz crystal.
 *
 * Received bytes wait in a ring filled by an interrupt, so that none is lost while the firmware works; sending
 * is polled. Registers and formulas: ATmega328P data sheet, chapter USART0.
 */
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include "app.h"

#ifndef F_CPU
#define F_CPU 16000000UL
#endif
#define BAUD_RATE 115200UL
#define RING_BYTES 128 /* a power of two: a whole line of the bench */

static volatile uint8_t ring[RING_BYTES];
static volatile uint8_t ring_in, ring_out;

/* With the ring full the byte stays in the receiver until the main loop has made room. What overruns there is lost: the
 * line's check shows it, and the bench repeats. */
ISR(USART_RX_vect) {
    uint8_t next = (uint8_t)((ring_in + 1) % RING_BYTES);
    if (next == ring_out) {
        UCSR0B = (1 << RXEN0) | (1 << TXEN0);
        return;
    }
    ring[ring_in] = UDR0;
    ring_in = next;
}

void port_put_byte(struct unlit_kit *kit, uint8_t byte) {
    (void)kit;
    while (!(UCSR0A & (1 << UDRE0))) {
    }
    UDR0 = byte;
}

/* Cells 0 and 1: the byte and its complement, so that a cell torn by a power cut is noticed; blank cells are 0xFF. */
int nv_read(uint8_t *byte) {
    uint8_t first = eeprom_read_byte((const uint8_t *)0), second = eeprom_read_byte((const uint8_t *)1);
    *byte = 0;
    if (first == 0xFF && second == 0xFF)
        return 0;
    if ((first ^ second) != 0xFF)
        return -1;
    *byte = first;
    return 1;
}

int nv_write(uint8_t byte) {
    eeprom_update_byte((uint8_t *)0, byte);
    eeprom_update_byte((uint8_t *)1, (uint8_t)~byte);
    return 0;
}

int main(void) {
    UBRR0 = (uint16_t)((F_CPU + BAUD_RATE * 4) / (BAUD_RATE * 8) - 1); /* double speed: 16, +2.1 % */
    UCSR0A = 1 << U2X0;
    UCSR0C = (1 << UCSZ01) | (1 << UCSZ00);
    if (app_begin() != 0)
        return 1;
    sei();
    for (;;) {
        /* Each turn: also lets the QEMU emulator see a byte that came while interrupts were off. */
        UCSR0B = (1 << RXCIE0) | (1 << RXEN0) | (1 << TXEN0);
        if (ring_out != ring_in) {
            uint8_t byte = ring[ring_out];
            ring_out = (uint8_t)((ring_out + 1) % RING_BYTES);
            unlit_byte(&app_kit, byte);
        }
    }
}
