/* Firmware that goes to sleep with its interrupts off. */
#include <avr/interrupt.h>
#include <avr/sleep.h>

int main(void) {
    cli();
    sleep_enable();
    sleep_cpu();
    for (;;) {
    }
}
