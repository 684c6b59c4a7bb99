/* The application of the port tests: `type keep N` stores a byte, `type kept` tells what is stored. */
#include <stdlib.h>
#include <string.h>
#include "app.h"

static const char identity[] UNLIT_FLASH = "memory 1.0";
static const struct unlit_channel none[1] UNLIT_FLASH = {{"none", UNLIT_BOOL}};
static int32_t values[UNLIT_VALUES(0, 0) + 1];

struct unlit_kit app_kit;

static int on_type(struct unlit_kit *kit, const char *text) {
    uint8_t byte = 99;
    if (strncmp(text, "keep ", 5) == 0)
        return nv_write((uint8_t)atoi(text + 5)) == 0;
    unlit_tell(kit, "stored", nv_read(&byte));
    unlit_tell(kit, "byte", byte);
    return 1;
}

int app_begin(void) {
    static const struct unlit_config config = {
        .identity = identity,
        .inputs = none,
        .outputs = none,
        .values = values,
        .put_byte = port_put_byte,
        .on_type = on_type,
    };
    return unlit_begin(&app_kit, &config);
}
