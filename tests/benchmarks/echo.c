/* A bare echo: the least that any device on a link can do. As a program it echoes its standard input; as a
 * shared library it offers the kit's entry points and echoes what it is fed. */
#include <stdint.h>
#include <string.h>
#include <unistd.h>

int unlit_lib_version(void) { return 1; }

void unlit_lib_power(int fresh) { (void)fresh; }

int unlit_lib_talk(const uint8_t *in, int n, uint8_t *out, int room)
{
    if (n > room)
        return -1;
    if (n > 0)
        memcpy(out, in, (size_t)n);
    return n;
}

int main(void)
{
    char buffer[4096];
    ssize_t n;
    while ((n = read(0, buffer, sizeof buffer)) > 0)
        if (write(1, buffer, (size_t)n) != n)
            return 1;
    return 0;
}
