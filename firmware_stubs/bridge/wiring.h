/* What you wired: the figures of your own parts. Measure them; the end-to-end resistance of a digital potentiometer may be
 * 20 to 30 % off its name (data sheets), and every reading with it.
 */
#ifndef WIRING_H
#define WIRING_H

#include "signals.h"

#define SUPPLY_UV 5000000 /* the bridge's 5 V, for the channel in uV */
#define RESET_MS 100      /* how long the controller is held in reset at go and back */
#define BOOT_MS 1000      /* from then until it reads its probes; go is answered after both: within the bench's time-out */
#define SETTLE_MS 5       /* a pin of the controller must be steady for this long: relays bounce */
#define QUIET_MS 5000     /* when the bench is silent for longer, all signals open */

/* The wiper itself has some 50 to 125 ohm (data sheets).
 *
 * 10 kohm at 25 degC: the potentiometer alone. */
#define THERMISTOR {.end_to_end_mohm = 10000000, .wiper_mohm = 75000, .series_mohm = 0, .parallel_mohm = 0}
/* 1000 ohm at 0 degC: 820 ohm in series with (560 ohm beside the potentiometer). */
#define PT1000 {.end_to_end_mohm = 10000000, .wiper_mohm = 75000, .series_mohm = 820000, .parallel_mohm = 560000}

#endif
