/* Host port: the line on standard input and output, for the bench's `run:` and `pty:` links.
 *
 * Non-volatile memory is the file named by --nv FILE, or by the environment's UNLIT_NV; without either it lasts as
 * long as the process.
 */
#define _POSIX_C_SOURCE 200809L
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include "app.h"

static uint8_t answer[4096];
static size_t answer_bytes;
static const char *nv_file;
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

int main(int argc, char **argv) {
    static uint8_t heard[4096];
    nv_file = getenv("UNLIT_NV");
    if (argc == 3 && strcmp(argv[1], "--nv") == 0) {
        nv_file = argv[2];
    } else if (argc != 1) {
        (void)fprintf(stderr, "%s: %s is no option. Use no option, or --nv FILE.\n", argv[0], argv[1]);
        return 2;
    }
    if (app_begin() != 0)
        return 1;
    for (;;) {
        ssize_t i, n = read(STDIN_FILENO, heard, sizeof heard);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return 0;
        for (i = 0; i < n; i++)
            unlit_byte(&app_kit, heard[i]);
        flush();
    }
}
