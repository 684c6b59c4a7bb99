/* Shared-library port, for the bench's `lib:` link: the firmware runs in the bench's own process.
 *
 * int  unlit_lib_version(void)            version of these three functions: 1
 * void unlit_lib_power(int fresh)         power-up; fresh: non-volatile memory is blank too
 * int  unlit_lib_talk(in, n, out, room)   n bytes to the firmware; gives the bytes of its answer, at most `room`, or
 *                                         -1 if there were more (the rest is lost)
 */
#include "app.h"

int unlit_lib_version(void);
void unlit_lib_power(int fresh);
int unlit_lib_talk(const uint8_t *in, int n, uint8_t *out, int room);

static uint8_t *answer;
static int answer_bytes, answer_room;
static int nv_kept = -1; /* the byte, or -1 */
static int powered;

void port_put_byte(struct unlit_kit *kit, uint8_t byte) {
    (void)kit;
    if (answer_bytes < answer_room)
        answer[answer_bytes] = byte;
    answer_bytes++;
}

int nv_read(uint8_t *byte) {
    *byte = (uint8_t)(nv_kept < 0 ? 0 : nv_kept);
    return nv_kept >= 0;
}

int nv_write(uint8_t byte) {
    nv_kept = byte;
    return 0;
}

int unlit_lib_version(void) {
    return 1;
}

void unlit_lib_power(int fresh) {
    if (fresh)
        nv_kept = -1;
    answer_room = answer_bytes = 0; /* nobody listens to what is said at power-up */
    powered = app_begin() == 0;
}

int unlit_lib_talk(const uint8_t *in, int n, uint8_t *out, int room) {
    int i;
    if (!powered)
        unlit_lib_power(1);
    answer = out;
    answer_room = room;
    answer_bytes = 0;
    for (i = 0; powered && i < n; i++)
        unlit_byte(&app_kit, in[i]);
    return answer_bytes <= room ? answer_bytes : -1;
}
