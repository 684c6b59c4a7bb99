/* A library with the kit's entry points that echoes what it is fed, and does three odd things when told to:
 * a line "many N" gives N bytes, "fail" gives -2, "count" the number of power-ups and of clearings. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#ifndef VERSION
#define VERSION 1
#endif

static int powered, cleared, left;

int unlit_lib_version(void) { return VERSION; }

void unlit_lib_power(int fresh)
{
    powered++;
    cleared += fresh != 0;
}

int unlit_lib_talk(const uint8_t *in, int n, uint8_t *out, int room)
{
    if (n > 5 && memcmp(in, "many ", 5) == 0)
        left = atoi((const char *)in + 5);
    else if (n >= 4 && memcmp(in, "fail", 4) == 0)
        return -2;
    else if (n >= 5 && memcmp(in, "count", 5) == 0)
        return snprintf((char *)out, (size_t)room, "%d %d\n", powered, cleared);
    else if (n > 0) {
        memcpy(out, in, (size_t)n);
        return n;
    }
    n = left < room ? left : room;
    memset(out, '.', (size_t)n);
    left -= n;
    return n;
}
