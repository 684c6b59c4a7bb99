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

#define UNLIT_MDEGC "mdegC" /* thousandths of a degree Celsius */
#define UNLIT_MDEGF "mdegF" /* thousandths of a degree Fahrenheit */
#define UNLIT_MOHM "mohm"
#define UNLIT_UV "uV"
#define UNLIT_ADC(bits) "adc" #bits /* counts of a converter of 8 to 24 bits */
#define UNLIT_BOOL "bool"           /* 0 or 1 */
#define UNLIT_PERMILLE "permille"   /* 0 to 1000 */
#define UNLIT_COUNT "count"
#define UNLIT_MS "ms"

/* One row of a channel table. The number on the line is the place in the table, counted from 1; functions take
 * the place counted from 0, so that an enum names both. Tables are const UNLIT_FLASH. */
struct unlit_channel {
    char name[UNLIT_NAME_MAX + 1]; /* a lower-case letter, then lower-case letters, digits, '_' */
    char unit[9];
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
    int32_t *values;             /* UNLIT_VALUES(n_inputs, n_outputs) of them */
    void (*put_byte)(struct unlit_kit *kit, uint8_t byte); /* send one byte; may wait, must not call the kit */
    void (*on_step)(struct unlit_kit *kit); /* lockstep: one turn of the main loop at unlit_millis() */
    void (*on_go)(struct unlit_kit *kit);   /* start as new, forget non-volatile memory; outputs are 0 */
    void (*on_back)(struct unlit_kit *kit); /* start as from power-up, keep non-volatile memory; outputs are 0 */
    void (*on_end)(struct unlit_kit *kit);  /* the run is over; outputs are 0 and stay so */
    int (*on_type)(struct unlit_kit *kit, const char *text); /* a console line, 0-ended; 0: means nothing here */
    void *app;         /* for the hooks; the kit does not look at it */
    uint8_t wall_pace; /* 0: lockstep, the line is the clock. 1: own clock, see unlit_poll() */
};

/* State; the caller owns it and touches none of it but `config`. */
struct unlit_kit {
    const struct unlit_config *config;
    int32_t *outputs;   /* in config->values */
    uint32_t now_ms;    /* the device's clock */
    uint32_t offset_ms; /* wall pace: device's clock minus board's clock */
    uint32_t last_ms;   /* T of the last line taken that carried one */
    uint32_t heard_ms;  /* clock at the last at, go or back */
    const char *at;     /* where reading of the body has come to */
    uint32_t number;    /* read last */
    uint32_t t_ms;      /* T of the line in hand */
    uint16_t crc;       /* of the line being sent */
    uint8_t count;      /* values read */
    uint8_t length;     /* bytes in `line`; UNLIT_LINE_MAX + 1: too long */
    uint8_t running;
    uint8_t changed;    /* an output is not yet told */
    uint8_t last;       /* the verb taken last */
    char line[UNLIT_LINE_MAX + 1];
};

enum unlit_status {
    UNLIT_OK = 0,
    UNLIT_E_TABLE = -1 /* more than 32 channels in a table */
};

/* Start from power-up: not running, inputs without reading, outputs 0. On an error the kit must not be used. */
int unlit_begin(struct unlit_kit *kit, const struct unlit_config *config);

/* Feed one received byte, any value. At the end of a line this calls the hooks and sends the answer. */
void unlit_byte(struct unlit_kit *kit, uint8_t byte);

/* Input in force, in its channel's unit; UNLIT_NO_READING where there is none or `place` is not in the table. */
static inline int32_t unlit_input(const struct unlit_kit *kit, uint8_t place) {
    return place < kit->config->n_inputs ? kit->config->values[place] : UNLIT_NO_READING;
}

/* 1 if the input has a reading other than 0: what a bool input means. */
static inline int unlit_input_on(const struct unlit_kit *kit, uint8_t place) {
    int32_t value = unlit_input(kit, place);
    return value != 0 && value != UNLIT_NO_READING;
}

/* Set an output, told with the next answer; a bool is 0 or 1, a permille 0 to 1000. Without a run, and for a place not
 * in the table, it does nothing. One line carries all outputs: 22 bool, or 7 numbers of any size, are sure to fit in its
 * 120 bytes; the bench refuses a longer one. */
void unlit_set_output(struct unlit_kit *kit, uint8_t place, int32_t value);

/* The output as set; 0 for a place not in the table. */
static inline int32_t unlit_output(const struct unlit_kit *kit, uint8_t place) {
    return place < kit->config->n_outputs ? kit->outputs[place] : 0;
}

/* The device's clock: bench time in ms, rolls over at 2^32. */
static inline uint32_t unlit_millis(const struct unlit_kit *kit) {
    return kit->now_ms;
}

/* Time since the last at, go or back, in ms of the device's clock; 0 without a run. Within on_step it is the
 * silence up to this very step, so that an `at` after a long gap shows the gap too. */
static inline uint32_t unlit_quiet_ms(const struct unlit_kit *kit) {
    return kit->running ? kit->now_ms - kit->heard_ms : 0;
}

/* 1 between go or back and end. */
static inline int unlit_running(const struct unlit_kit *kit) {
    return kit->running;
}

/* Put a figure, or a text, on the bench's record. Strings are in RAM. A text is cut at 100 bytes; '?' stands for what is
 * not printable and for a space at either end. */
void unlit_tell(struct unlit_kit *kit, const char *name, int32_t value);
void unlit_say(struct unlit_kit *kit, const char *text);

/* Wall pace: call each turn of the main loop with the board's own millisecond clock. Sends `now` with
 * all outputs when one has changed. In lockstep pace it does nothing. */
void unlit_poll(struct unlit_kit *kit, uint32_t board_ms);

#ifdef __cplusplus
}
#endif
#endif
