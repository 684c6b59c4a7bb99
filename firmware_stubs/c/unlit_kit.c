/* Device side of the Unlit line protocol, in four parts: lines out, words in, the conversation, what firmware calls. */
#include "unlit_kit.h"

#ifdef __AVR__
#define FLASH_BYTE(address) ((char)pgm_read_byte(address))
#define FLASH_TEXT(text) PSTR(text)
#else
#define FLASH_BYTE(address) (*(address))
#define FLASH_TEXT(text) text
#endif

/* Reasons of a `no`. */
static const char bad_crc[] UNLIT_FLASH = "crc";
static const char too_long[] UNLIT_FLASH = "long";
static const char bad_form[] UNLIT_FLASH = "form";
static const char not_running[] UNLIT_FLASH = "not running";
static const char bad_time[] UNLIT_FLASH = "time";
static const char no_channel[] UNLIT_FLASH = "channel";

/* In groups: a number follows HI to AT, a list AT and PUT, a text TYPE and HEARD_NO; TICK to PUT need a run. */
enum verb { HI, GO, BACK, TICK, AT, PUT, END, TYPE, HEARD_NO, NO_VERB };

/* With the space where exactly one word or text must follow. */
static const char verb_names[][6] UNLIT_FLASH = {
    [HI] = "hi ",  [GO] = "go ",   [BACK] = "back ", [TICK] = "tick ",   [AT] = "at ",
    [PUT] = "put", [END] = "end", [TYPE] = "type ", [HEARD_NO] = "no ",
};

/* ---- lines out ---- */

/* The table-free form: a dozen operations a byte, so that neither flash nor speed is missed on any machine. */
static uint16_t next_crc(uint16_t crc, uint8_t byte) {
    uint16_t mix = (uint16_t)((crc >> 8) ^ byte);
    mix = (uint16_t)(mix ^ (mix >> 4));
    return (uint16_t)((crc << 8) ^ (mix << 12) ^ (mix << 5) ^ mix);
}

static void send(struct unlit_kit *kit, char c) {
    kit->crc = next_crc(kit->crc, (uint8_t)c);
    kit->config->put_byte(kit, (uint8_t)c);
}

/* Text in flash, up to its 0 or `most` bytes. */
static void send_flash(struct unlit_kit *kit, const char *text, uint8_t most) {
    char c;
    for (; most > 0 && (c = FLASH_BYTE(text)) != 0; most--, text++)
        send(kit, c);
}

/* Text in RAM, in the same way; '?' for what is not printable and for a space at either end. */
static void send_text(struct unlit_kit *kit, const char *text, uint8_t most) {
    uint8_t edge = 1;
    for (; most > 0 && *text != 0; most--, text++) {
        if (most == 1 || text[1] == 0)
            edge = 1;
        send(kit, *text >= ' ' + edge && *text <= '~' ? *text : '?');
        edge = 0;
    }
}

static void send_number(struct unlit_kit *kit, uint32_t number) {
    char digits[10];
    uint8_t n = 0;
    do {
        digits[n++] = (char)('0' + (char)(number % 10));
        number /= 10;
    } while (number > 0);
    while (n > 0)
        send(kit, digits[--n]);
}

static void send_value(struct unlit_kit *kit, int32_t value) {
    if (value == UNLIT_NO_READING) {
        send(kit, 'x');
        return;
    }
    if (value < 0)
        send(kit, '-');
    send_number(kit, (uint32_t)(value < 0 ? -value : value));
}

static void begin_line(struct unlit_kit *kit, const char *flash_text) {
    kit->crc = 0xFFFF;
    send_flash(kit, flash_text, UNLIT_LINE_MAX);
}

/* Of the upper four bits. */
static char hex_digit(uint16_t crc) {
    uint8_t digit = (uint8_t)(crc >> 12);
    return (char)(digit < 10 ? '0' + digit : 'A' - 10 + digit);
}

static void end_line(struct unlit_kit *kit) {
    uint16_t crc = kit->crc;
    uint8_t n;
    send(kit, '*');
    for (n = 0; n < 4; n++, crc = (uint16_t)(crc << 4))
        send(kit, hex_digit(crc));
    send(kit, '\n');
}

static void send_channels(struct unlit_kit *kit, const char *kind, const struct unlit_channel *row, uint8_t rows) {
    uint8_t place;
    for (place = 1; place <= rows; place++, row++) {
        begin_line(kit, kind);
        send_number(kit, place);
        send(kit, ' ');
        send_flash(kit, row->name, sizeof row->name);
        send(kit, ' ');
        send_flash(kit, row->unit, sizeof row->unit);
        end_line(kit);
    }
}

static void answer_hello(struct unlit_kit *kit) {
    begin_line(kit, FLASH_TEXT("me 1 "));
    send_flash(kit, kit->config->identity, UNLIT_LINE_MAX - 10);
    end_line(kit);
    send_channels(kit, FLASH_TEXT("in "), kit->config->inputs, kit->config->n_inputs);
    send_channels(kit, FLASH_TEXT("out "), kit->config->outputs, kit->config->n_outputs);
    begin_line(kit, FLASH_TEXT("ready"));
    end_line(kit);
}

/* ` I=V` of each output, and the end of the line. */
static void send_outputs(struct unlit_kit *kit) {
    uint8_t place;
    for (place = 0; place < kit->config->n_outputs; place++) {
        send(kit, ' ');
        send_number(kit, (uint32_t)place + 1);
        send(kit, '=');
        send_value(kit, kit->outputs[place]);
    }
    end_line(kit);
    kit->changed = 0;
}

/* ---- words in: the body is 0-ended while it is read; a reader moves kit->at past what it took, 0 on a mistake ---- */

/* Leaves the number in kit->number. */
static uint8_t read_number(struct unlit_kit *kit) {
    const char *start = kit->at;
    uint32_t number = 0;
    uint8_t digit;
    for (; (digit = (uint8_t)(*kit->at - '0')) <= 9; kit->at++) {
        if (number > UINT32_MAX / 10)
            return 0;
        number = number * 10 + digit;
        if (number < digit)
            return 0;
    }
    kit->number = number;
    return kit->at == start + 1 || (kit->at != start && *start != '0');
}

/* Leaves the value in kit->number, in two's complement. */
static uint8_t read_value(struct unlit_kit *kit) {
    uint8_t negative = *kit->at == '-';
    if (*kit->at == 'x') {
        kit->at++;
        kit->number = (uint32_t)UNLIT_NO_READING;
        return 1;
    }
    kit->at += negative;
    if (!read_number(kit) || kit->number > INT32_MAX || (negative && kit->number == 0))
        return 0;
    if (negative)
        kit->number = 0 - kit->number;
    return 1;
}

enum { WRONG = 255 };

/* ` I=V I=V` to the end of the body; its highest channel, or WRONG. With `take`, the values go to where they wait for
 * the next `at`. */
static uint8_t read_list(struct unlit_kit *kit, uint8_t take) {
    int32_t *waiting = kit->config->values + kit->config->n_inputs;
    uint8_t channel = 0;
    for (kit->count = 0; *kit->at != 0; kit->count++) {
        uint8_t before = channel;
        if (*kit->at++ != ' ' || !read_number(kit) || kit->number > 99)
            return WRONG;
        channel = (uint8_t)kit->number;
        if (channel <= before || *kit->at++ != '=' || !read_value(kit))
            return WRONG;
        if (take)
            waiting[channel - 1] = (int32_t)kit->number;
    }
    return channel;
}

/* 0 or WRONG. */
static uint8_t read_text(struct unlit_kit *kit) {
    const char *start = kit->at;
    while (*kit->at >= ' ' && *kit->at <= '~')
        kit->at++;
    return kit->at == start || *start == ' ' || kit->at[-1] == ' ' || kit->at - start > UNLIT_TEXT_MAX ? WRONG : 0;
}

static uint8_t read_verb(struct unlit_kit *kit) {
    uint8_t verb;
    for (verb = HI; verb < NO_VERB; verb++) {
        const char *name = verb_names[verb], *at = kit->line;
        char c;
        for (; (c = FLASH_BYTE(name)) != 0 && c == *at; at++)
            name++;
        kit->at = at;
        if (c == 0)
            break;
    }
    return verb;
}

/* `body*HHHH` becomes the 0-ended body. */
static const char *open_frame(struct unlit_kit *kit) {
    uint16_t crc = 0xFFFF;
    char *at = kit->line, wrong = 0, n = 4;
    if (kit->length > UNLIT_LINE_MAX)
        return too_long;
    if (kit->length < 5 || at[kit->length - 5] != '*')
        return bad_form;
    for (; at != kit->line + kit->length - 5; at++)
        crc = next_crc(crc, (uint8_t)*at);
    *at++ = 0;
    for (; n > 0; n--, at++, crc = (uint16_t)(crc << 4)) {
        if (*at < '0' || *at > 'F' || (*at > '9' && *at < 'A'))
            return bad_form;
        if (*at != hex_digit(crc))
            wrong = 1;
    }
    return wrong ? bad_crc : 0;
}

/* ---- the conversation ---- */

static void fill(int32_t *values, uint8_t n, int32_t value) {
    for (; n > 0; n--)
        *values++ = value;
}

static void forget(struct unlit_kit *kit) {
    fill(kit->config->values, (uint8_t)(2 * kit->config->n_inputs), UNLIT_NO_READING);
    fill(kit->outputs, kit->config->n_outputs, 0);
}

static void stop(struct unlit_kit *kit) {
    uint8_t was_running = kit->running;
    kit->running = 0;
    fill(kit->outputs, kit->config->n_outputs, 0);
    if (was_running && kit->config->on_end)
        kit->config->on_end(kit);
}

/* `go` and `back`. */
static void start(struct unlit_kit *kit, void (*hook)(struct unlit_kit *)) {
    forget(kit);
    kit->offset_ms += kit->last_ms - kit->now_ms;
    kit->now_ms = kit->heard_ms = kit->last_ms;
    kit->running = 1;
    if (hook)
        hook(kit);
}

/* `at` and `tick`. */
static void step(struct unlit_kit *kit, uint8_t verb) {
    int32_t *value = kit->config->values;
    uint8_t n;
    for (n = kit->config->n_inputs; verb == AT && n > 0; n--, value++)
        *value = value[kit->config->n_inputs];
    if (!kit->config->wall_pace) {
        kit->now_ms = kit->last_ms;
        if (kit->config->on_step)
            kit->config->on_step(kit);
    }
    if (verb == AT)
        kit->heard_ms = kit->now_ms;
}

/* Do what a faultless line says and answer it; the same `go`, `back`, `at` or `tick` once more changes nothing. */
static void obey(struct unlit_kit *kit, uint8_t verb, const char *rest) {
    uint8_t repeated = verb == kit->last && kit->t_ms == kit->last_ms && verb <= AT;
    kit->at = rest;
    if ((verb == AT && !repeated) || verb == PUT)
        (void)read_list(kit, 1);
    if (verb == HI || verb == END)
        stop(kit);
    else if (verb == TYPE)
        kit->count = kit->config->on_type && kit->config->on_type(kit, rest);
    else if (verb <= AT && !repeated) {
        kit->last_ms = kit->t_ms;
        if (verb <= BACK)
            start(kit, verb == GO ? kit->config->on_go : kit->config->on_back);
        else
            step(kit, verb);
    }
    kit->last = verb;
    if (verb == HI) {
        answer_hello(kit);
    } else if (verb == PUT || verb == TYPE) {
        begin_line(kit, FLASH_TEXT("got "));
        send_number(kit, kit->count);
        end_line(kit);
    } else {
        begin_line(kit, FLASH_TEXT("ok "));
        send_number(kit, kit->last_ms);
        send_outputs(kit);
    }
}

/* Read the body whole, to its end and not just to a 0 sent in it, before anything of it is taken: its mistakes in the
 * order form, state, time, channel. */
static const char *take_body(struct unlit_kit *kit) {
    uint8_t verb = read_verb(kit), highest = 0;
    const char *rest;
    if (verb == NO_VERB || (verb <= AT && !read_number(kit)))
        return bad_form;
    kit->t_ms = kit->number;
    rest = kit->at;
    if (verb >= TYPE)
        highest = read_text(kit);
    else if (verb == AT || verb == PUT)
        highest = read_list(kit, 0);
    if (highest == WRONG || kit->at != kit->line + kit->length - 5 || (verb == PUT && highest == 0) ||
        (verb == HI && kit->t_ms - 1 > 98))
        return bad_form;
    if (verb >= TICK && verb <= PUT && !kit->running)
        return not_running;
    if ((verb == TICK || verb == AT) && kit->t_ms - kit->last_ms > INT32_MAX)
        return bad_time;
    if (highest > kit->config->n_inputs)
        return no_channel;
    if (verb != HEARD_NO)
        obey(kit, verb, rest);
    return 0;
}

/* ---- what firmware calls ---- */

void unlit_byte(struct unlit_kit *kit, uint8_t byte) {
    const char *reason;
    if (byte == '\r' || (byte == '\n' && kit->length == 0))
        return;
    if (byte != '\n') {
        if (kit->length <= UNLIT_LINE_MAX)
            kit->line[kit->length++] = (char)byte;
        return;
    }
    reason = open_frame(kit);
    if (reason == 0)
        reason = take_body(kit);
    if (reason != 0) {
        begin_line(kit, FLASH_TEXT("no "));
        send_flash(kit, reason, UNLIT_TEXT_MAX);
        end_line(kit);
    }
    kit->length = 0;
}

int unlit_begin(struct unlit_kit *kit, const struct unlit_config *config) {
    *kit = (struct unlit_kit){.config = config, .outputs = config->values + 2 * config->n_inputs, .last = NO_VERB};
    if (config->n_inputs > UNLIT_CHANNELS_MAX || config->n_outputs > UNLIT_CHANNELS_MAX)
        return UNLIT_E_TABLE;
    forget(kit);
    return UNLIT_OK;
}

void unlit_set_output(struct unlit_kit *kit, uint8_t place, int32_t value) {
    if (!kit->running || place >= kit->config->n_outputs || kit->outputs[place] == value)
        return;
    kit->outputs[place] = value;
    kit->changed = 1;
}

void unlit_tell(struct unlit_kit *kit, const char *name, int32_t value) {
    begin_line(kit, FLASH_TEXT("tell "));
    send_text(kit, name, UNLIT_NAME_MAX);
    send(kit, ' ');
    send_value(kit, value);
    end_line(kit);
}

void unlit_say(struct unlit_kit *kit, const char *text) {
    if (text[0] == 0)
        return;
    begin_line(kit, FLASH_TEXT("say "));
    send_text(kit, text, UNLIT_TEXT_MAX);
    end_line(kit);
}

void unlit_poll(struct unlit_kit *kit, uint32_t board_ms) {
    if (!kit->config->wall_pace)
        return;
    kit->now_ms = board_ms + kit->offset_ms;
    if (kit->changed && kit->running) {
        begin_line(kit, FLASH_TEXT("now"));
        send_outputs(kit);
    }
}
