/* An echo whose main loop touches no register while it waits: bytes come by interrupt into a ring. */
#include <avr/interrupt.h>
#include <avr/io.h>

static volatile uint8_t ring[64], into, out;

ISR(USART_RX_vect) {
    ring[into] = UDR0;
    into = (uint8_t)((into + 1) % sizeof ring);
}

int main(void) {
    UBRR0 = 16;
    UCSR0A = 1 << U2X0;
    UCSR0B = (1 << RXCIE0) | (1 << RXEN0) | (1 << TXEN0);
    sei();
    for (;;) {
        while (out == into) {
        }
        UDR0 = ring[out];
        out = (uint8_t)((out + 1) % sizeof ring);
    }
}
