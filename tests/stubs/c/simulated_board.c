/* An ATmega328P at 16 MHz in libsimavr, its pins and registers in the hands of a test. argv: the flash as a raw binary.
 *
 * A line on standard input is a command; what happens meanwhile is printed, then `.`:
 *     send TEXT       a line to USART0; runs until it is answered   -> uart LINE, spi BYTE SELECT_0 SELECT_1
 *     post TEXT       a line to USART0, without waiting
 *     run US          lets the chip run for so many microseconds
 *     pin D 2 0       drives a pin from outside
 *     reg 88          -> reg VALUE             one register, address in hex as a program sees it
 *     port B          -> port PORT DDR PIN
 *     clock           -> clock US
 *
 * Not the wave form at the pin of a timer: libsimavr 1.6 takes up a new OCR1A in fast PWM only when the timer is set up.
 */
#include <simavr/avr_ioport.h>
#include <simavr/avr_spi.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <stdio.h>
#include <string.h>

enum { MHZ = 16, BYTE_US = 87, ANSWER_US = 20 * 1000 * 1000 };

static avr_t *chip;
static char heard[256];
static unsigned heard_bytes;
static int answered;

static void run(unsigned long us) {
    avr_cycle_count_t end = chip->cycle + (avr_cycle_count_t)us * MHZ;
    while (chip->cycle < end && !answered)
        avr_run(chip);
}

static avr_ioport_state_t port_state(char name) {
    avr_ioport_state_t state = {0};
    avr_ioctl(chip, (uint32_t)AVR_IOCTL_IOPORT_GETSTATE(name), &state);
    return state;
}

static void on_uart(avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq, (void)param;
    if (value != '\n') {
        if (heard_bytes + 1 < sizeof heard)
            heard[heard_bytes++] = (char)value;
        return;
    }
    heard[heard_bytes] = 0;
    heard_bytes = 0;
    printf("uart %s\n", heard);
    answered = strncmp(heard, "ok ", 3) == 0 || strncmp(heard, "no ", 3) == 0 || strncmp(heard, "ready", 5) == 0;
}

static void on_spi(avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq, (void)param;
    printf("spi %02X %d %d\n", value, (port_state('B').port >> 2) & 1, (port_state('D').port >> 7) & 1);
}

static void send_line(const char *text, unsigned long wait_us) {
    avr_irq_t *line = avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    for (answered = 0; *text; text++) {
        avr_raise_irq(line, (uint8_t)*text);
        run(BYTE_US);
    }
    avr_raise_irq(line, '\n');
    run(wait_us);
    answered = 0;
}

/* From outside, stronger than a pull-up. */
static void drive(char port, int pin, int value) {
    static unsigned char mask[128], values[128];
    avr_ioport_external_t outside = {.name = (unsigned char)port & 0x7F};
    mask[(int)port] |= (unsigned char)(1 << pin);
    values[(int)port] = (unsigned char)((values[(int)port] & ~(1 << pin)) | value << pin);
    outside.mask = mask[(int)port];
    outside.value = values[(int)port];
    avr_ioctl(chip, (uint32_t)AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &outside);
    avr_raise_irq(avr_io_getirq(chip, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ(port), pin), (uint32_t)value);
}

static void obey(const char *words) {
    char port;
    int pin, value;
    unsigned long number;
    if (strncmp(words, "send ", 5) == 0)
        send_line(words + 5, ANSWER_US);
    else if (strncmp(words, "post ", 5) == 0)
        send_line(words + 5, BYTE_US);
    else if (sscanf(words, "run %lu", &number) == 1)
        run(number);
    else if (sscanf(words, "pin %c %d %d", &port, &pin, &value) == 3)
        drive(port, pin, value);
    else if (sscanf(words, "reg %lx", &number) == 1)
        printf("reg %d\n", chip->data[number & 0xFF]);
    else if (sscanf(words, "port %c", &port) == 1)
        printf("port %d %d %d\n", port_state(port).port, port_state(port).ddr, port_state(port).pin);
    else
        printf("clock %llu\n", (unsigned long long)(chip->cycle / MHZ));
}

int main(int argc, char **argv) {
    static uint8_t flash[32768];
    char words[256];
    uint32_t quiet = 0;
    FILE *file = argc == 2 ? fopen(argv[1], "rb") : 0;
    size_t size = file ? fread(flash, 1, sizeof flash, file) : 0;
    chip = avr_make_mcu_by_name("atmega328p");
    if (size == 0 || !chip || fclose(file) != 0 || avr_init(chip) != 0)
        return 1;
    chip->frequency = MHZ * 1000000;
    avr_loadcode(chip, flash, (uint32_t)size, 0);
    chip->codeend = (uint32_t)size;
    avr_ioctl(chip, AVR_IOCTL_UART_SET_FLAGS('0'), &quiet);
    avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_uart, 0);
    avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_SPI_GETIRQ(0), SPI_IRQ_OUTPUT), on_spi, 0);
    while (fgets(words, sizeof words, stdin)) {
        words[strcspn(words, "\n")] = 0;
        obey(words);
        printf(".\n");
        (void)fflush(stdout);
    }
    return 0;
}
