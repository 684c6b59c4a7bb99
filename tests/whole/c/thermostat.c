/* A core with the reference controller's face and the plainest of control: the burner on below the set point less the
 * band, off at the set point, the pump always on. What the PID is compared with.
 */
#include <string.h>
#include "controller.h"

enum { BAND = 100 }; /* m°C: narrower than anyone would dare for the burner's sake, so that the comparison is fair */

void controller_init(struct controller *c, const struct controller_config *config, bool fahrenheit, uint32_t now_ms,
                     uint8_t nv, bool power_cut)
{
    memset(c, 0, sizeof *c);
    c->config = config;
    c->fahrenheit = fahrenheit;
    c->now_ms = now_ms;
    (void)nv;
    (void)power_cut;
}

void controller_step(struct controller *c, uint32_t now_ms, uint32_t quiet_ms, const int32_t *inputs)
{
    int32_t probe = inputs[inputs[IN_MASH_PROBE] == 1 ? IN_PUMP_INLET : IN_COIL_OUTLET];
    int32_t wanted = inputs[IN_MASH_SETPOINT];
    int16_t *out = c->outputs;
    (void)quiet_ms;
    c->now_ms = now_ms;
    out[OUT_PUMP] = 1;
    if (probe >= wanted) {
        out[OUT_GAS_VALVE] = 0;
    } else if (probe <= wanted - BAND) {
        out[OUT_GAS_VALVE] = 1;
    }
    out[OUT_IGNITER] = (int16_t)(out[OUT_GAS_VALVE] && inputs[IN_FLAME] != 1);
}
