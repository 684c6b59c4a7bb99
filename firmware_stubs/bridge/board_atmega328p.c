/* ATmega328P at 16 MHz, the pins of README.md. Timer 1 makes the analogue signal, timer 2 the clock, SPI the wiper words,
 * USART0 the line. Registers and formulas: ATmega328P data sheet, chapters of these units.
 */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>
#include <util/delay.h>
#include "board.h"
#include "signals.h"

/* Port B: D8 to D13. D10 is also SS, which must be an output or SPI would leave master mode by itself. */
enum { RESET = 1 << PB0, ANALOG = 1 << PB1, SELECT_0 = 1 << PB2, DATA = 1 << PB3, CLOCK = 1 << PB5 };
/* Port C: A0, A1. */
enum { CONNECT_0 = 1 << PC0, CONNECT_1 = 1 << PC1 };
/* Port D: D2 to D7. */
enum { GAS_VALVE = 1 << PD2, IGNITER = 1 << PD3, PUMP = 1 << PD4, FLAME = 1 << PD5, FLOW = 1 << PD6, SELECT_1 = 1 << PD7 };

enum { WRITE_WIPER = 0x11, SPI_TURNS = 255 };
#define BAUD_RATE 115200UL
enum { RING_BYTES = 128, LISTENS = (1 << RXEN0) | (1 << TXEN0) };

static volatile uint32_t clock_ms;
static volatile uint8_t ring[RING_BYTES], ring_in, ring_out;

ISR(TIMER2_COMPA_vect) {
    clock_ms++;
}

uint32_t board_ms(void) {
    uint32_t ms;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        ms = clock_ms;
    }
    return ms;
}

/* A turn takes a millisecond or more, so that on the chip the clock ends the wait; where timer 2 stands still, as in QEMU,
 * the turns do. */
void board_wait_until(uint32_t ms) {
    uint32_t turns = ms - board_ms();
    for (; turns != 0 && turns <= INT32_MAX && (int32_t)(ms - board_ms()) > 0; turns--)
        _delay_ms(1);
}

static void begin_timers(void) {
    ICR1 = PWM_TICKS - 1;
    TCCR1A = 1 << WGM11; /* fast PWM up to ICR1, undivided; the pin is joined by board_analog() */
    TCCR1B = (1 << WGM13) | (1 << WGM12) | (1 << CS10);
    OCR2A = F_CPU / 64 / 1000 - 1; /* 249: exactly 1 ms */
    TCCR2A = 1 << WGM21;
    TCCR2B = 1 << CS22;
    TIMSK2 = 1 << OCIE2A;
}

static void begin_line(void) {
    UBRR0 = (uint16_t)((F_CPU + BAUD_RATE * 4) / (BAUD_RATE * 8) - 1); /* double speed: 16, +2.1 % */
    UCSR0A = 1 << U2X0;
    UCSR0C = (1 << UCSZ01) | (1 << UCSZ00);
}

void board_begin(void) {
    PORTB = SELECT_0;
    DDRB = RESET | SELECT_0 | DATA | CLOCK;
    PORTC = 0;
    DDRC = CONNECT_0 | CONNECT_1;
    PORTD = SELECT_1 | GAS_VALVE | IGNITER | PUMP; /* pull-ups: an optocoupler pulls down */
    DDRD = FLAME | FLOW | SELECT_1;
    SPCR = (1 << SPE) | (1 << MSTR) | (1 << SPR0); /* mode 0, 1 MHz */
    begin_timers();
    begin_line();
    sei();
}

/* High for OCR1A + 1 ticks, which cannot be 0: there the pin is taken from the timer and held low. */
void board_analog(uint16_t ticks) {
    OCR1A = ticks == 0 ? 0 : ticks - 1;
    TCCR1A = (uint8_t)((1 << WGM11) | (ticks == 0 ? 0 : 1 << COM1A1));
    DDRB |= ANALOG;
}

void board_analog_open(void) {
    DDRB &= (uint8_t)~ANALOG;
    TCCR1A = 1 << WGM11;
}

/* A byte takes 128 turns of the clock; bounded, because nothing but a broken chip or an emulator without SPI never ends. */
static void send_byte(uint8_t byte) {
    uint8_t turns = SPI_TURNS;
    SPDR = byte;
    while (!(SPSR & (1 << SPIF)) && turns > 0)
        turns--;
}

static uint8_t connect_bit(uint8_t which) {
    return which == 0 ? CONNECT_0 : CONNECT_1;
}

void board_resistor(uint8_t which, uint8_t code) {
    if (which == 0)
        PORTB &= (uint8_t)~SELECT_0;
    else
        PORTD &= (uint8_t)~SELECT_1;
    send_byte(WRITE_WIPER);
    send_byte(code);
    PORTB |= SELECT_0;
    PORTD |= SELECT_1;
    PORTC |= connect_bit(which);
}

void board_resistor_open(uint8_t which) {
    PORTC &= (uint8_t)~connect_bit(which);
}

static void set_pin_d(uint8_t pin, uint8_t is_high) {
    if (is_high)
        PORTD |= pin;
    else
        PORTD &= (uint8_t)~pin;
}

void board_flame(uint8_t is_on) {
    set_pin_d(FLAME, is_on);
}

void board_flow(uint8_t is_on) {
    set_pin_d(FLOW, is_on);
}

void board_reset(uint8_t held) {
    if (held)
        PORTB |= RESET;
    else
        PORTB &= (uint8_t)~RESET;
}

uint8_t board_controller_has_on(uint8_t which) {
    return (PIND & (GAS_VALVE << which)) == 0;
}

void board_put_byte(uint8_t byte) {
    while (!(UCSR0A & (1 << UDRE0))) {
    }
    UDR0 = byte;
}

/* With the ring full the byte stays in the receiver; what overruns there is lost, and the line's check shows it. */
ISR(USART_RX_vect) {
    uint8_t next = (uint8_t)((ring_in + 1) % RING_BYTES);
    if (next == ring_out) {
        UCSR0B = LISTENS;
        return;
    }
    ring[ring_in] = UDR0;
    ring_in = next;
}

uint8_t board_take_byte(uint8_t *byte) {
    UCSR0B = LISTENS | (1 << RXCIE0); /* each time: also lets QEMU see a byte that came while interrupts were off */
    if (ring_out == ring_in)
        return 0;
    *byte = ring[ring_out];
    ring_out = (uint8_t)((ring_out + 1) % RING_BYTES);
    return 1;
}
