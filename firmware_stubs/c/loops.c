/* From set points to heat wanted. */
#include "loops.h"

void loops_init(struct loops *loops)
{
    loops->kind = LOOP_NONE;
    loops->manual = false;
    loops->relay = false;
    loops->over = false;
    loops->kept = false;
    loops->kept_input = 0;
    loops->duty = 0;
    loops->relay_ms = TIMER_LONGEST_MS;
    loops->over_ms = 0;
    loops->window_ms = -1;
    loops->length_ms = 0;
    loops->on_ms = 0;
    pid_init(&loops->pid);
}

static void switch_relay(struct loops *loops, int32_t passed_ms, bool on)
{
    if (on != loops->relay) {
        loops->relay = on;
        loops->relay_ms = 0;
    } else {
        loops->relay_ms = timer_after(loops->relay_ms, passed_ms);
    }
}

void loops_rest(struct loops *loops, int32_t passed_ms)
{
    switch_relay(loops, passed_ms, false);
    loops->kind = LOOP_NONE;
    loops->duty = 0;
    loops->pid.ready = false;
    loops->over = false;
    loops->window_ms = -1;
    loops->kept = false;
}

static void enter(struct loops *loops, const struct loops_order *order)
{
    if (loops->kind == LOOP_NONE || order->kind == LOOP_CALIBRATION) {
        loops->manual = order->manual;
        loops->kept = false;
    }
    loops->kind = order->kind;
    loops->pid.ready = false;
    loops->over = false;
    loops->window_ms = -1;
}

static void set_by_hand(struct loops *loops, const struct loops_order *order)
{
    if (!order->manual) {
        loops->kept = false;
    } else if (!loops->manual) {
        loops->kept = true;
        loops->kept_input = order->manual_duty;
    } else if (order->manual_duty != loops->kept_input) {
        loops->kept = false;
    }
    if (order->manual && !loops->kept) {
        loops->duty = order->manual_duty;
    }
    loops->manual = order->manual;
}

static void watch_ceiling(struct loops *loops, const struct controller_config *config, int32_t passed_ms,
                          const struct loops_order *order)
{
    int32_t ceiling = config->liquor_most;
    if (!order->manual && order->setpoint + config->ceiling_above < ceiling) {
        ceiling = order->setpoint + config->ceiling_above;
    }
    if (order->kind == LOOP_LIQUOR && !order->manual) {
        loops->over = false;
    } else if (!order->believed) {
        return;
    } else if (order->liquor >= ceiling) {
        loops->over = true;
        loops->over_ms = 0;
    } else if (loops->over) {
        loops->over_ms = timer_after(loops->over_ms, passed_ms);
        loops->over = !(order->liquor <= ceiling - config->liquor_band && loops->over_ms >= config->least_off_ms);
    }
}

static void run_liquor(struct loops *loops, const struct controller_config *config, int32_t passed_ms,
                       const struct loops_order *order)
{
    int32_t age_ms = timer_after(loops->relay_ms, passed_ms);
    bool on;
    loops->window_ms = -1;
    loops->pid.ready = false;
    if (!order->permitted) {
        on = false;
    } else if (loops->relay) {
        on = order->liquor < order->setpoint || age_ms < config->least_on_ms;
    } else {
        on = order->liquor <= order->setpoint - config->liquor_band && age_ms >= config->least_off_ms;
    }
    switch_relay(loops, passed_ms, on);
    loops->duty = on ? 1000 : 0;
}

static void run_mash(struct loops *loops, int32_t passed_ms, const struct loops_order *order)
{
    struct pid_input in;
    if (order->setpoint == 0) {
        loops->pid.ready = false; /* by hand only */
        return;
    }
    if (!pid_due(&loops->pid, passed_ms) || !order->believed) {
        return;
    }
    in.setpoint = order->setpoint;
    in.measured = order->measured;
    in.duty = loops->duty;
    in.place = order->place;
    in.follow = order->manual;
    in.hold = loops->over || !order->permitted;
    loops->duty = pid_step(&loops->pid, order->gains, &in);
}

static void open_window(struct loops *loops, const struct controller_config *config, int32_t cycle_ms)
{
    int32_t on_ms = (int32_t)loops->duty * cycle_ms / 1000;
    if (on_ms < config->pulse_least_ms) {
        on_ms = 0;
    } else if (on_ms > cycle_ms - config->pulse_least_ms) {
        on_ms = cycle_ms;
    }
    loops->length_ms = cycle_ms;
    loops->on_ms = on_ms;
}

static bool proportion(struct loops *loops, const struct controller_config *config, int32_t passed_ms,
                       int32_t cycle_ms)
{
    if (loops->window_ms < 0) {
        loops->window_ms = 0;
        open_window(loops, config, cycle_ms);
    } else {
        loops->window_ms = timer_after(loops->window_ms, passed_ms);
        if (loops->window_ms >= loops->length_ms) {
            loops->window_ms -= loops->length_ms;
            if (loops->window_ms >= loops->length_ms) {
                loops->window_ms = 0;
            }
            open_window(loops, config, cycle_ms);
        }
    }
    return loops->window_ms < loops->on_ms && loops->duty > 0;
}

bool loops_step(struct loops *loops, const struct controller_config *config, int32_t passed_ms,
                const struct loops_order *order)
{
    if (order->kind != loops->kind) {
        enter(loops, order);
    }
    set_by_hand(loops, order);
    watch_ceiling(loops, config, passed_ms, order);
    if (order->kind == LOOP_LIQUOR && !order->manual) {
        run_liquor(loops, config, passed_ms, order);
        return loops->relay;
    }
    switch_relay(loops, passed_ms, false);
    if (order->kind == LOOP_MASH) {
        run_mash(loops, passed_ms, order);
    } else {
        loops->pid.ready = false;
    }
    return proportion(loops, config, passed_ms, order->cycle_ms) && !loops->over;
}
