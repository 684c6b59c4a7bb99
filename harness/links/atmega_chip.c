/* An ATmega328P at 16 MHz, cycle by cycle, by libsimavr: the helper program of the link `atmega:`. See atmega.py.
 *
 *     atmega_chip FIRMWARE.elf EEPROM [wall]
 *
 * USART0 is standard input and output. The file EEPROM is the chip's EEPROM: each cell is in it as soon as it is
 * programmed, so that a kill of this process is a power cut. `wall`: the chip's clock does not run ahead of the wall's;
 * else it does while bytes pass, and keeps the wall's pace while the line is quiet.
 */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <simavr/avr_eeprom.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

enum { MHZ = 16, FLASH_BYTES = 32768, EEPROM_BYTES = 1024, BLANK = 0xFF };
enum { UCSR0B = 0xC1, RXEN0 = 1 << 4 }; /* data sheet, chapter Register Summary */
enum { LOOK_CYCLES = 100 * MHZ, QUIET_CYCLES = 50000 * MHZ, AHEAD_US = 1000, ROOM = 4096 };

static avr_t *chip;
static avr_irq_t *line_in;
static uint8_t heard[ROOM], said[ROOM];
static size_t heard_bytes, heard_next, said_bytes;
static int full;                       /* the chip's receiver takes no more for now */
static avr_cycle_count_t busy_at;      /* the last byte either way */
static avr_cycle_count_t from_cycle;   /* the chip's clock and the wall's, compared from here on */
static int64_t from_us;

static void fail(const char *what) {
    (void)fprintf(stderr, "%s\n", what);
    exit(1);
}

static int64_t wall_us(void) {
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

/* The simulator's own words go to standard output by default, which is the line. */
static void complain(avr_t *avr, const int level, const char *format, va_list words) {
    (void)avr;
    if (level == LOG_ERROR)
        (void)vfprintf(stderr, format, words);
}

static void flush(void) {
    size_t done = 0;
    while (done < said_bytes) {
        ssize_t n = write(STDOUT_FILENO, said + done, said_bytes - done);
        if (n < 0 && errno != EINTR)
            exit(0);
        done += n > 0 ? (size_t)n : 0;
    }
    said_bytes = 0;
}

static void on_byte_out(avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq, (void)param;
    said[said_bytes++] = (uint8_t)value;
    busy_at = chip->cycle;
    if (value == '\n' || said_bytes == ROOM)
        flush();
}

static void on_room(avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq, (void)value;
    full = param != 0;
}

/* A chip that sleeps is woken by its timers or its line; the waiting is done in `keep_pace`. */
static void on_sleep(avr_t *avr, avr_cycle_count_t cycles) {
    (void)avr, (void)cycles;
}

/* The simulator takes a chip that sleeps to the next thing due, maybe far ahead: this is due at each look. */
static avr_cycle_count_t on_look(avr_t *avr, avr_cycle_count_t when, void *param) {
    (void)avr, (void)when, (void)param;
    return 0;
}

/* Hand over what has come, to a receiver that is on; the end of the input is the end of this process. */
static void listen_to_line(void) {
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    if (heard_next == heard_bytes && poll(&in, 1, 0) > 0) {
        ssize_t n = read(STDIN_FILENO, heard, sizeof heard);
        if (n == 0 || (n < 0 && errno != EINTR && errno != EAGAIN))
            exit(0);
        heard_next = 0;
        heard_bytes = n > 0 ? (size_t)n : 0;
    }
    while (heard_next < heard_bytes && !full && chip->data[UCSR0B] & RXEN0) {
        busy_at = chip->cycle;
        avr_raise_irq(line_in, heard[heard_next++]);
    }
}

/* Wait until the wall's clock has come after the chip's, or until something is heard. */
static void keep_pace(int by_the_wall) {
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    int64_t ahead_us;
    if (!by_the_wall && chip->cycle - busy_at < QUIET_CYCLES) {
        from_us = 0;
        return;
    }
    if (from_us == 0) {
        from_cycle = chip->cycle;
        from_us = wall_us();
    }
    ahead_us = (int64_t)((chip->cycle - from_cycle) / MHZ) - (wall_us() - from_us);
    if (ahead_us > AHEAD_US) {
        flush();
        (void)poll(&in, heard_next == heard_bytes, (int)(ahead_us / 1000));
    }
}

/* Have the simulator keep the chip's cells in the file. */
static void join_eeprom(const char *name) {
    static uint8_t blank[EEPROM_BYTES];
    int file = open(name, O_RDWR | O_CREAT, 0600);
    off_t size = file < 0 ? -1 : lseek(file, 0, SEEK_END);
    avr_io_t *port = chip->io_port;
    void *cells;
    memset(blank, BLANK, sizeof blank);
    if (size < 0 || (size < EEPROM_BYTES && pwrite(file, blank, sizeof blank, 0) != EEPROM_BYTES))
        fail("the file for the EEPROM cannot be written");
    cells = mmap(0, EEPROM_BYTES, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
    while (port && strcmp(port->kind, "eeprom") != 0)
        port = port->next;
    if (cells == MAP_FAILED || !port)
        fail("the simulator has no EEPROM to keep");
    ((avr_eeprom_t *)port)->eeprom = cells;
}

static void power_up(const char *name) {
    static elf_firmware_t firmware;
    uint32_t plain = 0, uart = AVR_IOCTL_UART_GETIRQ('0');
    avr_global_logger_set(complain);
    if (elf_read_firmware(name, &firmware) != 0 || !firmware.flash)
        fail("the simulator cannot read this .elf");
    if (firmware.flashsize > FLASH_BYTES)
        fail("the program is larger than the 32768 bytes of an ATmega328P");
    chip = avr_make_mcu_by_name("atmega328p");
    if (!chip || avr_init(chip) != 0)
        fail("the simulator does not start");
    firmware.frequency = MHZ * 1000000;
    avr_load_firmware(chip, &firmware);
    chip->log = LOG_ERROR;
    chip->sleep = on_sleep;
    chip->run_cycle_limit = LOOK_CYCLES;
    avr_ioctl(chip, AVR_IOCTL_UART_SET_FLAGS('0'), &plain);
    line_in = avr_io_getirq(chip, uart, UART_IRQ_INPUT);
    avr_irq_register_notify(avr_io_getirq(chip, uart, UART_IRQ_OUTPUT), on_byte_out, 0);
    avr_irq_register_notify(avr_io_getirq(chip, uart, UART_IRQ_OUT_XON), on_room, 0);
    avr_irq_register_notify(avr_io_getirq(chip, uart, UART_IRQ_OUT_XOFF), on_room, &full);
}

int main(int argc, char **argv) {
    int by_the_wall = argc == 4 && strcmp(argv[3], "wall") == 0;
    avr_cycle_count_t look_at = 0;
    if (argc < 3)
        fail("usage: atmega_chip FIRMWARE.elf EEPROM [wall]");
    power_up(argv[1]);
    join_eeprom(argv[2]);
    for (;;) {
        int state = avr_run(chip);
        if (state == cpu_Done || state == cpu_Crashed) {
            flush();
            fail(state == cpu_Done ? "the firmware sleeps with interrupts off: nothing can wake it"
                                   : "the firmware has left its code or memory");
        }
        if (chip->cycle < look_at)
            continue;
        listen_to_line();
        keep_pace(by_the_wall);
        if (said_bytes && chip->cycle - busy_at > QUIET_CYCLES)
            flush();
        look_at = chip->cycle + LOOK_CYCLES;
        avr_cycle_timer_register(chip, LOOK_CYCLES, on_look, 0);
    }
}
