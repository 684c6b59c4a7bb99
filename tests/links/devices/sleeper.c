/* Sleeps until a byte comes; says with each how many ticks of the 8-bit timer 0 (64 us) it has run, modulo 256, and
 * how often it has had power, which it keeps in EEPROM. */
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

static volatile uint8_t came;

ISR(USART_RX_vect) {
    came = UDR0;
}

static void put(uint8_t byte) {
    while (!(UCSR0A & (1 << UDRE0))) {
    }
    UDR0 = byte;
}

int main(void) {
    uint8_t starts = (uint8_t)(eeprom_read_byte((const uint8_t *)1023) + 1);
    eeprom_write_byte((uint8_t *)1023, starts);
    UBRR0 = 16;
    UCSR0A = 1 << U2X0;
    UCSR0B = (1 << RXCIE0) | (1 << RXEN0) | (1 << TXEN0);
    TCCR0B = (1 << CS02) | (1 << CS00);
    set_sleep_mode(SLEEP_MODE_IDLE);
    for (;;) {
        cli(); /* no byte comes between the look and the sleep */
        if (came == 0) {
            sleep_enable();
            sei();
            sleep_cpu();
        }
        sei();
        if (came == '?') {
            came = 0;
            put(TCNT0);
            put(starts);
            put('\n');
        }
    }
}
