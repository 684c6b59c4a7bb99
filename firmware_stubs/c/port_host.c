/* Host port: the line on standard input and output, for the bench's `run:` and `pty:` links.
 *
 * With --wall it keeps its own clock, as a board does: a turn of the application each 100 ms, and `now` when an output
 * changes. Else the line is the clock.
 *
 * Non-volatile memory is the file named by --nv FILE, or by the environment's UNLIT_NV; without either it lasts as
 * long as the process.
 */
#define _POSIX_C_SOURCE 200809L
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>
#include "app.h"

static uint8_t answer[4096];
static size_t answer_bytes;
static const char *nv_file;
static struct unlit_config own_clock; /* the application's, in wall pace */
static int nv_kept = -1; /* without a file: the byte, or -1 */

static void flush(void) {
    size_t done = 0;
    while (done < answer_bytes) {
        ssize_t n = write(STDOUT_FILENO, answer + done, answer_bytes - done);
        if (n < 0 && errno != EINTR)
            exit(1);
        done += n > 0 ? (size_t)n : 0;
    }
    answer_bytes = 0;
}

void port_put_byte(struct unlit_kit *kit, uint8_t byte) {
    (void)kit;
    if (answer_bytes == sizeof answer)
        flush();
    answer[answer_bytes++] = byte;
}

/* The file holds the byte and its complement. */
int nv_read(uint8_t *byte) {
    uint8_t bytes[3];
    FILE *file;
    size_t n;
    *byte = 0;
    if (!nv_file) {
        *byte = (uint8_t)(nv_kept < 0 ? 0 : nv_kept);
        return nv_kept >= 0;
    }
    file = fopen(nv_file, "rb");
    if (!file)
        return errno == ENOENT ? 0 : -1;
    n = fread(bytes, 1, sizeof bytes, file);
    (void)fclose(file);
    if (n != 2 || (bytes[0] ^ bytes[1]) != 0xFF)
        return -1;
    *byte = bytes[0];
    return 1;
}

/* Under a new name first, so that a kill in between leaves the old byte. */
int nv_write(uint8_t byte) {
    uint8_t bytes[2] = {byte, (uint8_t)~byte};
    char name[4096];
    FILE *file;
    size_t n;
    if (!nv_file) {
        nv_kept = byte;
        return 0;
    }
    if ((size_t)snprintf(name, sizeof name, "%s.new", nv_file) >= sizeof name || !(file = fopen(name, "wb")))
        return -1;
    n = fwrite(bytes, 1, sizeof bytes, file);
    return fclose(file) == 0 && n == sizeof bytes && rename(name, nv_file) == 0 ? 0 : -1;
}

enum { TURN_MS = 100 };

/* The board's clock. */
static uint32_t board_ms(void) {
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint32_t)(now.tv_sec * 1000 + now.tv_nsec / 1000000);
}

/* Let the application take its turns until there is something to read. */
static void take_turns(uint32_t *due_ms) {
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    for (;;) {
        int32_t left_ms = (int32_t)(*due_ms - board_ms());
        if (left_ms > 0 && poll(&in, 1, left_ms) > 0)
            break;
        if ((int32_t)(*due_ms - board_ms()) > 0)
            continue;
        unlit_poll(&app_kit, board_ms());
        if (unlit_running(&app_kit) && own_clock.on_step)
            own_clock.on_step(&app_kit);
        unlit_poll(&app_kit, board_ms());
        flush();
        *due_ms += TURN_MS;
        if ((int32_t)(board_ms() - *due_ms) > 0)
            *due_ms = board_ms(); /* a turn that was missed is not made up for */
    }
    unlit_poll(&app_kit, board_ms()); /* what is heard was heard now, not at the last turn */
}

/* 0, or the mistaken word. */
static const char *read_options(int argc, char **argv, int *wall) {
    int i;
    for (i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--wall") == 0)
            *wall = 1;
        else if (strcmp(argv[i], "--nv") == 0 && i + 1 < argc)
            nv_file = argv[++i];
        else
            return argv[i];
    }
    return 0;
}

int main(int argc, char **argv) {
    static uint8_t heard[4096];
    const char *wrong;
    int wall = 0;
    uint32_t due_ms = board_ms();
    nv_file = getenv("UNLIT_NV");
    wrong = read_options(argc, argv, &wall);
    if (wrong) {
        (void)fprintf(stderr, "%s: %s is no option. Use no option, --nv FILE, or --wall.\n", argv[0], wrong);
        return 2;
    }
    if (app_begin() != 0)
        return 1;
    if (wall) {
        own_clock = *app_kit.config;
        own_clock.wall_pace = 1;
        app_kit.config = &own_clock;
    }
    for (;;) {
        ssize_t i, n;
        if (wall)
            take_turns(&due_ms);
        n = read(STDIN_FILENO, heard, sizeof heard);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return 0;
        for (i = 0; i < n; i++)
            unlit_byte(&app_kit, heard[i]);
        flush();
    }
}
