/* Device side of the Unlit line protocol, version 1 (harness/line/PROTOCOL.md).
 *
 * Bytes of the bench go in through unlit_byte(), answers come out through put_byte. The kit keeps the values of
 * the last stimulus, the outputs, and the clock. It uses no heap, no printf, no float and no memory but what the
 * caller gives it. All functions are for one context (the main loop); none may be called from an interrupt.
 *
 * Flash and RAM: `make size` prints them. RAM is one struct unlit_kit, one struct unlit_config, and 8 bytes for
 * each input and 4 for each output. Deepest stack of the kit itself on an AVR: under 100 bytes.
 */
#ifndef UNLIT_KIT_H
#define UNLIT_KIT_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A classic AVR copies constants to RAM unless told otherwise; this keeps them in flash. Nothing elsewhere. */
#ifdef __AVR__
#include <avr/pgmspace.h>
#define UNLIT_FLASH PROGMEM
#else
#define UNLIT_FLASH
#endif

#define UNLIT_LINE_MAX 120 /* bytes of a line without its LF */
#define UNLIT_NAME_MAX 24
#define UNLIT_TEXT_MAX 100
#define UNLIT_CHANNELS_MAX 32       /* inputs, and outputs, each */
#define UNLIT_NO_READING INT32_MIN  /* `x` on the line: an open circuit, a failed read, or nothing heard yet */

enum unlit_unit {
    UNLIT_MDEGC,    /* thousandths of a degree Celsius */
    UNLIT_MDEGF,    /* thousandths of a degree Fahrenheit */
    UNLIT_MOHM,
    UNLIT_UV,
    UNLIT_BOOL,     /* 0 or 1 */
    UNLIT_PERMILLE, /* 0 to 1000 */
    UNLIT_COUNT,
    UNLIT_MS,
    UNLIT_ADC = 64  /* UNLIT_ADC + 10: counts of a 10-bit converter; 8 to 24 bits */
};

/* One row of a channel table. The number on the line is the place in the table, counted from 1; functions take
 * the place counted from 0, so that an enum names both. Tables are const UNLIT_FLASH. */
struct unlit_channel {
    char name[UNLIT_NAME_MAX + 1]; /* a lower-case letter, then lower-case letters, digits, '_' */
    uint8_t unit;                  /* enum unlit_unit */
};

/* Room for the values of n_inputs inputs (in force, and put for later) and n_outputs outputs. */
#define UNLIT_VALUES(n_inputs, n_outputs) (2 * (n_inputs) + (n_outputs))

struct unlit_kit;

/* What the firmware gives the kit; must outlive it. put_byte is needed, each hook may be 0. */
struct unlit_config {
    const char *identity; /* UNLIT_FLASH text "NAME VERSION" */
    const struct unlit_channel *inputs;
    const struct unlit_channel *outputs;
    uint8_t n_inputs, n_outputs; /* 0 to 32 each */
    uint8_t wall_pace; /* 0: lockstep, the line is the clock. 1: own clock, see unlit_poll() */
    int32_t *values;   /* UNLIT_VALUES(n_inputs, n_outputs) of them */
    void *app;         /* for the hooks; the kit does not look at it */
    void (*put_byte)(struct unlit_kit *kit, uint8_t byte); /* send one byte; may wait, must not call the kit */
    void (*on_go)(struct unlit_kit *kit);   /* start as new, forget non-volatile memory; outputs are 0 */
    void (*on_back)(struct unlit_kit *kit); /* start as from power-up, keep non-volatile memory; outputs are 0 */
    void (*on_step)(struct unlit_kit *kit); /* lockstep: one turn of the main loop at unlit_millis() */
    void (*on_end)(struct unlit_kit *kit);  /* the run is over; outputs are 0 and stay so */
    int (*on_type)(struct unlit_kit *kit, const char *text); /* a console line, 0-ended; 0: means nothing here */
};

/* State; the caller owns it and touches none of it but `config`. */
struct unlit_kit {
    const struct unlit_config *config;
    uint32_t now_ms;    /* the device's clock */
    uint32_t offset_ms; /* wall pace: device's clock minus board's clock */
    uint32_t last_ms;   /* T of the last line that carried one */
    uint32_t heard_ms;  /* clock at the last at, go or back */
    uint32_t changed;   /* outputs not yet told, a bit each */
    uint16_t crc;       /* of the line being sent */
    uint8_t length;     /* bytes in `line`; UNLIT_LINE_MAX + 1: too long */
    uint8_t damaged;    /* a byte of the line is not printable */
    uint8_t running;
    char last;          /* first letter of the line taken last, 0 if none */
    char line[UNLIT_LINE_MAX];
};

enum unlit_status {
    UNLIT_OK = 0,
    UNLIT_E_TABLE = -1 /* more than 32 channels a table, or outputs whose `ok` line could pass 120 bytes */
};

/* Start from power-up: not running, inputs without reading, outputs 0. On an error the kit must not be used.
 * The `ok` line carries every output: 7 of unit count or a temperature, or 22 bool, or a mix. */
int unlit_begin(struct unlit_kit *kit, const struct unlit_config *config);

/* Feed one received byte, any value. At the end of a line this calls the hooks and sends the answer. */
void unlit_byte(struct unlit_kit *kit, uint8_t byte);

/* Input in force, in its channel's unit; UNLIT_NO_READING where there is none or `place` is not in the table. */
int32_t unlit_input(const struct unlit_kit *kit, uint8_t place);

/* 1 if the input has a reading other than 0: what a bool input means. */
int unlit_input_on(const struct unlit_kit *kit, uint8_t place);

/* Set an output, told with the next answer. A bool is 0 or 1 (from any other value), a permille is held to 0 to 1000.
 * Without a run, and for a place not in the table, it does nothing. */
void unlit_set_output(struct unlit_kit *kit, uint8_t place, int32_t value);

/* The output as set; 0 for a place not in the table. */
int32_t unlit_output(const struct unlit_kit *kit, uint8_t place);

/* The device's clock: bench time in ms, rolls over at 2^32. */
uint32_t unlit_millis(const struct unlit_kit *kit);

/* Time since the last at, go or back, in ms of the device's clock; 0 without a run. Within on_step it is the
 * silence up to this very step, so that an `at` after a long gap shows the gap too. */
uint32_t unlit_quiet_ms(const struct unlit_kit *kit);

/* 1 between go or back and end. */
int unlit_running(const struct unlit_kit *kit);

/* Put a figure, or a text (cut at 100 bytes, non-printables as '?'), on the bench's record. Strings are in RAM. */
void unlit_tell(struct unlit_kit *kit, const char *name, int32_t value);
void unlit_say(struct unlit_kit *kit, const char *text);

/* Wall pace: call each turn of the main loop with the board's own millisecond clock. Sends `now` when outputs have
 * changed. In lockstep pace it does nothing. */
void unlit_poll(struct unlit_kit *kit, uint32_t board_ms);

/* CRC-16/IBM-3740 of one more byte; start with 0xFFFF. */
uint16_t unlit_crc(uint16_t crc, uint8_t byte);

#ifdef __cplusplus
}
#endif
#endif
